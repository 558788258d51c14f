"""Garbage is looked for among what the tests make, and not among ten thousand tests while they are collected."""

import gc

gc.disable()


def pytest_collection_finish() -> None:
    gc.freeze()
    gc.enable()
