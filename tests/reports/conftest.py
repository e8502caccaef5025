"""One document and one file of every kind of page, made once for all tests here that only look at them."""

from __future__ import annotations

import pytest

from assess.reports.document import Document
from tests.reports.page_samples import KINDS, printed


@pytest.fixture(scope="session")
def documents(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Document]:
    folder = tmp_path_factory.mktemp("documents")
    return {name: made(folder) for name, made in KINDS.items()}


@pytest.fixture(scope="session")
def files(documents: dict[str, Document], tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """Every PDF there is, by the name of its kind."""
    return printed(documents, tmp_path_factory.mktemp("files"))
