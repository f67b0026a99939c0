"""Scrambled Sobol points: evenly spread draws, the same ones on every run and machine.

The points are those of Sobol's sequence with the direction numbers of Joe and Kuo; each
coordinate is then scrambled as Owen does it: whether a digit is flipped depends on the digits
before it, here through a hash instead of a tree of random bits. A scrambled point set keeps
the even spread of the sequence, and no point lies on the edge of the unit cube.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pretreat.chemistry.species import Array
from pretreat.core.basis import cites
from pretreat.core.errors import OutOfRangeError
from pretreat.core.tables import rows

BITS = 32
SEED = 20_240_229  # any fixed number: two runs must give the same draws
MOST_POINTS = 2**20

Words = NDArray[np.uint32]


@lru_cache(maxsize=1)
def most_dimensions() -> int:
    """Return the number of dimensions for which direction numbers are held."""
    return len(rows("sobol_directions.csv")) + 1


@cites("JOEKUO2008", "recurrence of the direction numbers")
@lru_cache(maxsize=1)
def directions() -> Words:
    """Return the direction numbers, one row per dimension and one column per binary digit.

    With a primitive polynomial of degree s and bits a(1) ... a(s), v(i) = a(1) v(i-1) xor ...
    xor a(s) v(i-s) xor (v(i-s) shifted right by s).
    """
    table = np.zeros((most_dimensions(), BITS), np.uint32)
    table[0] = [1 << (BITS - 1 - i) for i in range(BITS)]
    for row in rows("sobol_directions.csv"):
        polynomial = int(row["polynomial"])
        degree = polynomial.bit_length() - 1
        v = [int(m) << (BITS - 1 - i) for i, m in enumerate(row["initial_numbers"].split())]
        for i in range(degree, BITS):
            following = v[i - degree] ^ (v[i - degree] >> degree)
            for back in range(1, degree):
                if polynomial >> (degree - back) & 1:
                    following ^= v[i - back]
            v.append(following)
        table[int(row["dimension"]) - 1] = v
    return table


def sobol_words(count: int, dimensions: int) -> Words:
    """Return the first points of the plain sequence as binary fractions, in Gray code order.

    Parameters
    ----------
    count : int
        Number of points. [-]
    dimensions : int
        Number of dimensions. [-]

    Returns
    -------
    array of uint32, shape (count, dimensions)
        Coordinates times 2^32. [-]
    """
    index = np.arange(count, dtype=np.uint32)
    gray = index ^ (index >> np.uint32(1))
    words = np.zeros((count, dimensions), np.uint32)
    for digit in range(max(count - 1, 1).bit_length()):
        on = (gray >> np.uint32(digit)) & np.uint32(1)
        words ^= on[:, None] * directions()[None, :dimensions, digit]
    return words


@cites("BURLEY2020", "nested uniform scrambling by a hash; constants from memory")
def owen_scrambled(words: Words, seeds: Words) -> Words:
    """Return the points with every coordinate scrambled in the way of Owen.

    On the digits in reverse order, each step carries information from lower to higher digits
    only: so a digit is flipped according to those that stand before it in the fraction.

    Parameters
    ----------
    words : array of uint32, shape (n, d)
        Coordinates times 2^32. [-]
    seeds : array of uint32, shape (d,)
        One number for each dimension. [-]

    Returns
    -------
    array of uint32, shape (n, d)
        Scrambled coordinates times 2^32. [-]
    """
    x = _reversed_bits(words)
    x ^= x * np.uint32(0x3D20ADEA)
    x += seeds
    x *= (seeds >> np.uint32(16)) | np.uint32(1)
    x ^= x * np.uint32(0x05526C56)
    x ^= x * np.uint32(0x53A22864)
    return _reversed_bits(x)


def _reversed_bits(words: Words) -> Words:
    x = words.astype(np.uint32)
    masks = (0x55555555, 0x33333333, 0x0F0F0F0F, 0x00FF00FF, 0x0000FFFF)
    for i, mask in enumerate(masks):
        shift, keep = np.uint32(1 << i), np.uint32(mask)
        x = ((x >> shift) & keep) | ((x & keep) << shift)
    return x


@cites("BURLEY2020", "integer hash for the numbers of the dimensions; constants from memory")
def _hashed(numbers: Words) -> Words:
    """Spread whole numbers over all 32 digits."""
    x = numbers.astype(np.uint32)
    for factor in (0x7FEB352D, 0x846CA68B):
        x ^= x >> np.uint32(16)
        x *= np.uint32(factor)
        x ^= x >> np.uint32(15)
    return x


def scrambled_sobol(count: int, dimensions: int, seed: int = SEED) -> Array:
    """Return scrambled Sobol points.

    Parameters
    ----------
    count : int
        Number of points; a power of two keeps their even spread. [-]
    dimensions : int
        Number of dimensions, up to `most_dimensions`. [-]
    seed : int
        Which scrambling; the same number gives the same points. [-]

    Returns
    -------
    array, shape (count, dimensions)
        Points of the open unit cube. [-]

    Raises
    ------
    OutOfRangeError
        If points or dimensions are fewer than one, or more than are held.
    """
    _check("number of draws", count, MOST_POINTS)
    _check("number of uncertain inputs", dimensions, most_dimensions())
    numbers = np.arange(1, dimensions + 1, dtype=np.uint32) * np.uint32(0x9E3779B9)
    with np.errstate(over="ignore"):
        seeds = _hashed(numbers ^ np.uint32(seed & 0xFFFFFFFF))
        words = owen_scrambled(sobol_words(count, dimensions), seeds)
    return np.asarray((words.astype(float) + 0.5) / 2.0**BITS)


def _check(what: str, value: int, most: int) -> None:
    if not 1 <= value <= most:
        raise OutOfRangeError(f"{what} is {value}: must be from 1 to {most}")
