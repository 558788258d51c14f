"""What chance would make coincide: the number of false alarms of an agreement.

If the features of one face lay anywhere on the other, some would coincide all the same. An agreement is believed if so
many would coincide by chance in far fewer than one of all the placements that were looked at: the a contrario test of
A. Desolneux, L. Moisan, J.-M. Morel, From Gestalt Theory to Image Analysis, Springer 2008, chapter 3.
"""

from math import lgamma, log, log1p

__all__ = ["log10_false_alarms"]

_LN10 = log(10.0)


def log10_false_alarms(coincide: int, features: int, chance: float, placements: float) -> float:
    """Return the logarithm of how often chance would do as well in all the placements that were looked at.

    Parameters
    ----------
    coincide, features : int
        How many of how many features coincide.
    chance : float
        Probability that a feature coincides by chance, 0 to 1.
    placements : float
        How many placements were looked at.

    Returns
    -------
    float
        log10 of `placements` times the tail of the binomial distribution; 0 or more where chance explains it.

    Examples
    --------
    >>> round(log10_false_alarms(2, 2, 0.01, 1.0), 6)
    -4.0
    >>> round(log10_false_alarms(0, 5, 0.01, 100.0), 6)
    2.0
    """
    tests = log(max(placements, 1.0)) / _LN10
    if coincide <= 0 or chance >= 1.0:
        return tests
    if chance <= 0.0 or coincide > features:
        return -300.0
    first = (
        lgamma(features + 1)
        - lgamma(coincide + 1)
        - lgamma(features - coincide + 1)
        + coincide * log(chance)
        + (features - coincide) * log1p(-chance)
    )
    # The other terms of the tail, each by its ratio to the one before.
    total, term, odds = 1.0, 1.0, chance / (1.0 - chance)
    for number in range(coincide, features):
        term *= odds * (features - number) / (number + 1)
        total += term
        if term < 1e-12 * total:
            break
    return tests + min(0.0, (first + log(total)) / _LN10)
