"""The examples in docstrings are true."""

import doctest
import importlib
import pkgutil

import pytest

import fitkit

MODULES = sorted(
    info.name
    for info in pkgutil.walk_packages(fitkit.__path__, "fitkit.")
    if info.name != "fitkit.__main__"
)


@pytest.mark.parametrize("name", MODULES)
def test_examples_of(name):
    module = importlib.import_module(name)
    failed, _ = doctest.testmod(module, optionflags=doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE)
    assert failed == 0


def test_there_are_examples():
    finder = doctest.DocTestFinder(exclude_empty=True)
    counted = sum(
        len(found.examples)
        for name in MODULES
        for found in finder.find(importlib.import_module(name))
    )
    assert counted > 40
