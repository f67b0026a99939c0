"""What all tests share: as the commands have it, no second thread of the matrix library."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
