"""The worker: a computation's row and who may finish it, what it computes, and what that makes of the carriers."""
