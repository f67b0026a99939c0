"""What all tests share: as the commands have it, no second thread of the matrix library; what many
of them compute or read in the same way is done once, or faster."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def pytest_configure() -> None:
    from tests.memo import remember
    from tests.merged import quicken

    remember()
    quicken()
