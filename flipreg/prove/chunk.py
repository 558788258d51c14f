"""One chunk of an output program compared with one chunk of its source."""

from flipreg.geometry.isometry import Isometry
from flipreg.prove.axis_offsets import compare_axis_offsets
from flipreg.prove.expected import Expected
from flipreg.prove.motions import compare_motions
from flipreg.prove.read import PROOF_TOLERANCE_MM, Claim, Read
from flipreg.prove.steps import compare_steps
from flipreg.prove.words import compare_words

__all__ = ["prove", "prove_motions"]


def prove(
    source: Read,
    expected: Isometry | Expected,
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
    expected : Isometry or Expected
        Maps the source's frame to the output's, or each work offset's.
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
    wanted = expected if isinstance(expected, Expected) else Expected(expected)
    source, output, deviation = _without_spelled(source, wanted, output, claim, tolerance_mm)
    compare_words(source, output)
    deviation = max(deviation, compare_axis_offsets(source, wanted, output, tolerance_mm))
    deviation = max(deviation, compare_steps(source, wanted, output, tolerance_mm))
    return max(deviation, compare_motions(source, wanted, output, tolerance_mm))


def prove_motions(source: Read, expected: Expected, output: Read, *, claim: Claim | None) -> float:
    """Compare the motions alone, for programs whose words are compared already; as `prove`."""
    source, output, deviation = _without_spelled(source, expected, output, claim, PROOF_TOLERANCE_MM)
    deviation = max(deviation, compare_steps(source, expected, output, PROOF_TOLERANCE_MM))
    return max(deviation, compare_motions(source, expected, output, PROOF_TOLERANCE_MM))


def _without_spelled(
    source: Read, expected: Expected, output: Read, claim: Claim | None, tolerance_mm: float
) -> tuple[Read, Read, float]:
    if claim is None:
        return source, output, 0.0
    # Imported here: few programs have blocks that have to be spelled out.
    from flipreg.prove.spelled import without_spelled

    return without_spelled(source, expected, output, claim, tolerance_mm)
