"""The linear algebra of `solve`: topology, stiffness, loads on members, the response; trusses that can move freely."""
