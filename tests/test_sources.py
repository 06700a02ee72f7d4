"""Hold every citation to a source, and every source to a citation."""

import tomllib

import pytest

from checks.sources import faulty_entries, keys_of_code, keys_of_data, keys_of_words, known_sources
from checks.tree import PACKAGE, package_modules, parse

KNOWN = known_sources()
DATA = sorted(path for path in PACKAGE.rglob("*.toml") if path.name != "sources.toml")


def _used() -> dict[str, str]:
    """Collect every key in use, with one place where it is used."""
    places = {}
    for module in package_modules():
        for key in (*keys_of_words(module, KNOWN), *keys_of_code(module)):
            places[key] = str(module.path)
    for path in DATA:
        for key in keys_of_data(tomllib.loads(path.read_text("utf-8"))):
            places[key] = path.relative_to(PACKAGE).as_posix()
    return places


def test_every_key_in_use_has_a_source() -> None:
    assert {key: place for key, place in _used().items() if key not in KNOWN} == {}


def test_every_source_is_in_use() -> None:
    assert sorted(KNOWN.keys() - _used().keys()) == []


def test_every_source_has_a_text_and_a_status() -> None:
    assert list(faulty_entries(KNOWN)) == []


@pytest.mark.parametrize(
    ("text", "keys"),
    [
        ("Follow the sum [weber2014].", ["weber2014"]),
        ("Follow the sum [weber2014, iapws95; lee1999b].", ["weber2014", "iapws95", "lee1999b"]),
        ("Follow the handbook [glass_book].", ["glass_book"]),
        ("Lie in [low_m, high_m] or [0, 1], in x[i10], in `[a1999]`.", []),
    ],
)
def test_keys_are_found_in_words(text: str, keys: list[str]) -> None:
    module = parse(f'def f():\n    """{text}"""', "optics/beam.py")
    assert list(keys_of_words(module, {"glass_book"})) == keys
    comment = parse(f"x = 1  # {text}", "optics/beam.py")
    assert list(keys_of_words(comment, {"glass_book"})) == keys


def test_keys_are_found_in_code_and_data() -> None:
    assert list(keys_of_code(parse('p = Prior(source="lee1999", name="x2000")', "learn/prior.py"))) == [
        "lee1999"
    ]
    data = {"n": {"value": 1.5, "source": "a1999"}, "checks": [{"source": "b1999"}], "sources": ["c1999"]}
    assert list(keys_of_data(data)) == ["a1999", "b1999", "c1999"]


def test_faulty_entries_are_seen() -> None:
    entries = {
        "a1999": {"text": " ", "status": "read"},
        "b1999": {"text": "B", "status": "seen"},
        "c1999": {},
    }
    assert len(list(faulty_entries(entries))) == 4
