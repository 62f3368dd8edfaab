"""What every test may use."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from recommender.models.brief import Brief
from recommender.models.proposal import Answer
from recommender.service import Service, with_settings


@pytest.fixture(scope="session", autouse=True)
def _nobodys_folders(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """No test reads or writes a user's own rates, keys, quotes or form."""
    with pytest.MonkeyPatch.context() as patch:
        for kind in ("CONFIG", "DATA", "STATE"):
            patch.setenv(f"XDG_{kind}_HOME", str(tmp_path_factory.mktemp(kind.lower())))
        yield


@pytest.fixture(scope="session")
def service() -> Service:
    """The shipped plug-ins and rules, loaded once."""
    return Service(strict=True)


@pytest.fixture(scope="session")
def ask(service: Service):
    """Answer a brief made of settings alone, without flips; the same question is computed once."""
    known: dict[tuple[str, ...], Answer] = {}

    def answer(*settings: str) -> Answer:
        if settings not in known:
            known[settings] = service.recommend(with_settings(Brief(), settings), flips=False)
        return known[settings]

    return answer
