"""A shop.toml of anything at all is read or refused in one line, and what is read can price and be shown."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from recommender.drawing.text.workshop.shop_rates_text import shop_rates_text
from recommender.errors import InputError
from recommender.shop.rates.shop_file import shipped, shop_of

LINES = shipped().decode().splitlines()
VALUES = [
    "nan",
    "inf",
    "-1",
    "0",
    "1e400",
    "1e-400",
    "1e99999999999999999999",
    "true",
    '""',
    "[]",
    "{}",
    "[[]]",
    "9" * 5000,
]
VALUES += ['"\\u001b[31m"', '"\\u202eabc"', "1979-05-27", "0x10", '"P60"', "-0.0", "1_000", "007", "'''"]


def read(raw: bytes) -> None:
    problem, shop = "", None
    try:
        shop = shop_of(raw, "shop.toml")
    except InputError as error:
        problem = str(error)
    if shop is None:
        assert "shop.toml" in problem
        assert not set("\n\x1b\u202e") & set(problem)
        return
    told = shop_rates_text(shop, "shop.toml", ["440c"], width=60)
    assert "\x1b" not in told
    assert "\u202e" not in told


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes(raw: bytes) -> None:
    read(raw)


@settings(max_examples=400, deadline=None)
@given(data=st.data())
def test_the_shipped_file_with_anything_changed(data) -> None:
    lines = list(LINES)
    for _ in range(data.draw(st.integers(1, 3))):
        place = data.draw(st.integers(0, len(lines) - 1))
        match data.draw(st.sampled_from(["value", "drop", "double", "swap", "text", "cut"])):
            case "value":
                name = lines[place].partition("=")[0]
                lines[place] = f"{name}= {data.draw(st.sampled_from(VALUES))}"
            case "drop":
                lines[place] = ""
            case "double":
                lines.insert(place, lines[place])
            case "swap":
                other = data.draw(st.integers(0, len(lines) - 1))
                lines[place], lines[other] = lines[other], lines[place]
            case "text":
                lines[place] = data.draw(st.text(max_size=60))
            case _:
                lines[place] = lines[place][: data.draw(st.integers(0, 40))]
    read("\n".join(lines).encode("utf-8", "surrogatepass"))


@settings(max_examples=200, deadline=None)
@given(place=st.integers(0, len(shipped()) - 1), byte=st.integers(0, 255))
def test_the_shipped_file_with_one_byte_changed(place: int, byte: int) -> None:
    raw = bytearray(shipped())
    raw[place] = byte
    read(bytes(raw))
