"""Each example is designed once for all tests of the studies."""

from __future__ import annotations

import pytest

from tests.studies import cases


@pytest.fixture(scope="session")
def s1():
    """The drill press under the reference model: not ready."""
    return cases.made("drill-press-reference")


@pytest.fixture(scope="session")
def s2():
    """The fan on a mixer motor, its second target out of reach: not ready."""
    return cases.made("mixer-fan")


@pytest.fixture(scope="session")
def fan():
    """The extractor fan with its impeller fixed: ready."""
    return cases.made("fan-fixed")
