"""Where the marks of a setup should be found at the machine: in the numbers of its programs."""

import numpy as np

from flipreg.job.job import Job
from flipreg.job.layout import Layout
from flipreg.job.pose import blank_from_setup
from flipreg.job.rules import obeyed
from flipreg.job.setup import Setup

__all__ = ["planned_marks"]


def planned_marks(job: Job, setup: Setup) -> dict[str, tuple[float, float]]:
    """Return X and Y of every mark on the face that is up, in the program frame of the setup.

    The pointer looks straight down: in a tilted setup a mark on the section that leans is found where it is seen from
    above.

    Parameters
    ----------
    job : Job
        The job.
    setup : Setup
        One of its setups.

    Returns
    -------
    dict from name to (x, y)
        In millimetres, in the order of the job's marks.

    Raises
    ------
    JobFileError
        If parts of the job contradict each other.
    """
    layout, program_from_blank = Layout.of(obeyed(job)), ~blank_from_setup(job, setup)
    marks = [mark for mark in job.marks if setup.up in mark.faces]
    points = np.array([layout.place(mark, setup.up).point_mm for mark in marks])
    # A turn adds noise of 1e-13 mm; a nanometre is far below any mark.
    places = (program_from_blank.apply(points).round(6) + 0.0).tolist()
    return {mark.name: (place[0], place[1]) for mark, place in zip(marks, places, strict=True)}
