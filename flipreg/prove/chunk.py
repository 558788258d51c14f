"""One chunk of an output program compared with one chunk of its source."""

from flipreg.geometry.isometry import Isometry
from flipreg.prove.motions import compare_motions
from flipreg.prove.read import PROOF_TOLERANCE_MM, Claim, Read
from flipreg.prove.words import compare_words

__all__ = ["prove"]


def prove(
    source: Read,
    expected: Isometry,
    output: Read,
    *,
    tolerance_mm: float = PROOF_TOLERANCE_MM,
    claim: Claim | None = None,
) -> float:
    """Compare an output chunk with its source chunk moved by an isometry.

    Parameters
    ----------
    source, output : Read
        The same blocks of the two programs.
    expected : Isometry
        Maps the source's frame to the output's.
    tolerance_mm : float
        Largest allowed deviation of any start, middle, end or centre.
    claim : Claim, optional
        Which blocks are said to be spelled out as straight moves; none by default. It is checked, not
        believed.

    Returns
    -------
    float
        The largest deviation found, in millimetres. Chords may stand off their arc by the claim's tolerance
        besides.

    Raises
    ------
    ProofError
        If anything differs; the message names the source's line.
    """
    deviation = 0.0
    if claim is not None:
        # Imported here: few programs have blocks that have to be spelled out.
        from flipreg.prove.spelled import without_spelled

        source, output, deviation = without_spelled(source, expected, output, claim, tolerance_mm)
    compare_words(source, output)
    return max(deviation, compare_motions(source, expected, output, tolerance_mm))
