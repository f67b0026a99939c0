"""What all tests share: no second thread of the matrix library, as the commands have it, and
sums that are the same in many tests."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def pytest_configure() -> None:
    from tests.memo import remember

    remember()
