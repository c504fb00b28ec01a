"""What joins wood to wood at a repair: the lateral design value of a nail."""
