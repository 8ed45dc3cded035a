import pytest

from server.domain.model.catalogue import Catalogue
from tests.domain.scenes import shipped_catalogue


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    """The shipped catalogue, read once for every test of the domain."""
    return shipped_catalogue()
