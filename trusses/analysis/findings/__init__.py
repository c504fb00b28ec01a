"""What a person must look at in a truss, said in a sentence each."""
