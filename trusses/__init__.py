"""Trusses: the core in `analysis`, the drawing, and the set of a job."""

import os

# A truss makes matrices of a few dozen rows. Threads gain nothing on them, and where several workers share the
# processors each one's threads wait for the others': measured at 15 times slower. Must be set before numpy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
