"""Many small cases as one test that names each case that fails.

Where a case takes a millisecond, what pytest does for a test of its own takes several.
"""

import functools
import inspect
from collections.abc import Callable, Iterable, Sequence

import pytest

__all__ = ["every"]

Test = Callable[..., None]


def every(names: str, cases: Iterable[object]) -> Callable[[Test], Test]:
    """Return what makes one test of all cases; it is written as `pytest.mark.parametrize` is, and can be repeated.

    Fixtures are made once for all cases. Of several names a case has a value each.
    """
    arguments, rows = [name.strip() for name in names.split(",")], list(cases)
    assert rows, f"no cases of {names}"

    def of_all(test: Test) -> Test:
        @functools.wraps(test)
        def tried(*given: object, **more: object) -> None:
            failed = []
            for row in rows:
                values: Sequence[object] = row if len(arguments) > 1 else (row,)  # type: ignore[assignment]
                try:
                    test(*given, **more, **dict(zip(arguments, values, strict=True)))
                except (Exception, pytest.fail.Exception) as error:
                    failed.append(f"{names} = {row!r}: {type(error).__name__}: {error}")
            assert not failed, f"{len(failed)} of {len(rows)} cases:\n" + "\n".join(failed)

        signature = inspect.signature(test)
        left = [parameter for name, parameter in signature.parameters.items() if name not in arguments]
        tried.__signature__ = signature.replace(parameters=left)  # type: ignore[attr-defined]
        return tried

    return of_all
