"""The linear algebra of `frame`: topology, stiffness, loads on members, the response; trusses that can move freely."""
