"""What files are called in sentences: by their names, without their folders."""

__all__ = ["bare_name"]


def bare_name(path: str) -> str:
    r"""Return the name of a file without its folders, whichever way their names are parted.

    Examples
    --------
    >>> bare_name("job/front.nc"), bare_name(r"C:\job\front.nc")
    ('front.nc', 'front.nc')
    """
    return path.replace("\\", "/").rpartition("/")[2]
