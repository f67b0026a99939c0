"""A table too large for one process: the same call under dask, on two workers.

pip install 'pretreat[many]'
"""

import dask.dataframe as dd
import numpy as np
import pandas as pd

from pretreat import screen

N, RECOVERIES = 2_000, [0.5, 0.75]


def waters() -> pd.DataFrame:
    """Return waters drawn at random; a real table would be read with dd.read_csv."""
    draw = np.random.default_rng(1)
    return pd.DataFrame(
        {
            "id": [f"w{i:05d}" for i in range(N)],
            "pH": draw.uniform(6.8, 8.0, N),
            "temperature_c": draw.uniform(8, 24, N),
            "Ca": draw.lognormal(4, 0.6, N),
            "Mg": draw.lognormal(3, 0.6, N),
            "Na": draw.lognormal(4, 0.8, N),
            "Cl": draw.lognormal(4, 0.8, N),
            "SO4": draw.lognormal(4, 0.9, N),
            "SiO2": draw.uniform(5, 60, N),
            "Alkalinity [mg/L as CaCO3]": draw.uniform(80, 400, N),
        }
    )


def screened(frame: pd.DataFrame, partitions: int) -> pd.DataFrame:
    """Return the frame screened part by part, each part in one of two processes."""
    parts = dd.from_pandas(frame, npartitions=partitions)
    shape = screen(frame.head(1), RECOVERIES).head(0)  # the columns, for the plan
    mapped = parts.map_partitions(screen, RECOVERIES, meta=shape)
    return mapped.compute(scheduler="processes", num_workers=2).reset_index(drop=True)


if __name__ == "__main__":
    frame = waters()
    whole = screen(frame, RECOVERIES)
    pd.testing.assert_frame_equal(
        screened(frame, 4), whole, check_dtype=False, rtol=1e-7, atol=1e-8
    )
    print(f"{len(whole):,} rows, the same in 4 parts on 2 workers as in one")
