"""Random damage to bytes and texts: what hands, disks, transfers and spite do to files."""

import random
import re

NASTY = (
    b"\0",
    b"\xff",
    b"\xef\xbb\xbf",
    b"\xff\xfe",
    b"\r",
    b"\r\n",
    b"\n\n",
    b"\t",
    b"\x1b[31m",
    b"\x1a",
    b'"',
    b"'",
    b'"""',
    b"'''",
    b"#",
    b",",
    b";",
    b"=",
    b"[",
    b"]]",
    b"{",
    b"}",
    b"\\",
    b"\\u0000",
    b"\xe2\x80\xae",
    b"\xe2\x80\x9c",
    b"\xc2\xa0",
    b"\xcc\x81" * 20,
    b"\xf0\x9f\x94\x8b",
    b"%s%n{0}",
    b"<script>",
    b"=1+1",
    b"../",
    b"$(x)",
    b"\xed\xa0\x80",
    b"\xe2\x80\xa8",
    b"\x0b",
    b"\x0c",
    b"\x85",
)
NUMBERS = (
    b"0",
    b"-0.0",
    b"1",
    b"-1",
    b"1e308",
    b"-1e308",
    b"1e309",
    b"5e-324",
    b"1e-300",
    b"nan",
    b"inf",
    b"-inf",
    b"+nan",
    b"99999999999999999999",
    b"9" * 400,
    b"0x10",
    b"1_000",
    b"1,5",
    b"1.",
    b".5",
    b"1e",
    b"--1",
    b"00",
    b"07",
    b"1e5",
    b"0.1",
    b"1e-9",
    b"2147483648",
    b"9223372036854775808",
    b"true",
    b"12:30",
    b"",
    b"1979-05-27T07:32:00Z",
    b"\xd9\xa1\xd9\xa2",
    b"1d3",
    b"1e+3",
    b" 5",
    b"1e999999999",
)
_NUMBER = re.compile(rb"[-+]?\d+\.?\d*(?:[eE][-+]?\d+)?")
LARGEST = 200_000  # bytes of a case: larger files are tests of their own


def damaged(rng: random.Random, content: bytes, most: int = 6) -> bytes:
    """Return content after a few damages; mostly one or two."""
    for _ in range(min(most, 1 + int(rng.expovariate(0.7)))):
        content = rng.choice(WAYS)(rng, content)[:LARGEST]
    return content


def _other_number(rng: random.Random, content: bytes) -> bytes:
    found = list(_NUMBER.finditer(content))
    if not found:
        return content + rng.choice(NUMBERS)
    one = rng.choice(found)
    return content[: one.start()] + _number_like(rng, one[0]) + content[one.end() :]


def _number_like(rng: random.Random, old: bytes) -> bytes:
    """Return a number near the old one, far from it, or none at all."""
    way = rng.random()
    if way < 0.35:
        return rng.choice(NUMBERS)
    value = float(old) if len(old) < 300 else 1.0
    if way < 0.6:
        value *= 10.0 ** rng.uniform(-6, 6)
    elif way < 0.8:
        value *= rng.uniform(0.5, 2.0)
    else:
        value = -value if way < 0.9 else value + rng.choice((-1.0, 1.0))
    return (
        repr(value if rng.random() < 0.7 else round(value)).encode() if abs(value) < 1e300 else old
    )


def _insert(rng: random.Random, content: bytes) -> bytes:
    place = rng.randint(0, len(content))
    return content[:place] + rng.choice(NASTY) + content[place:]


def _flip(rng: random.Random, content: bytes) -> bytes:
    if not content:
        return content
    place = rng.randrange(len(content))
    return content[:place] + bytes([rng.randrange(256)]) + content[place + 1 :]


def _cut(rng: random.Random, content: bytes) -> bytes:
    place = rng.randint(0, len(content))
    return content[:place] + content[place + int(rng.expovariate(0.05)) :]


def _end(rng: random.Random, content: bytes) -> bytes:
    return content[: rng.randint(0, len(content))]


def _lines(rng: random.Random, content: bytes) -> bytes:
    """Swap, double, drop or move lines."""
    lines = content.split(b"\n")
    one, other = (rng.randrange(len(lines)) for _ in range(2))
    way = rng.randrange(4)
    if way == 0:
        lines[one], lines[other] = lines[other], lines[one]
    elif way == 1:
        lines.insert(other, lines[one])
    elif way == 2:
        del lines[one]
    else:
        lines[min(one, other) : max(one, other)] *= rng.randint(0, 4)
    return b"\n".join(lines)


def _fields(rng: random.Random, content: bytes) -> bytes:
    """Exchange one sign for another everywhere: separators, decimal marks, quotes."""
    pairs = (
        (b",", b";"),
        (b".", b","),
        (b",", b"\t"),
        (b'"', b"'"),
        (b"_", b" "),
        (b"\n", b"\r\n"),
        (b"\n", b"\r"),
        (b"=", b":"),
        (b" ", b""),
        (b"-", b"\xe2\x88\x92"),
    )
    return content.replace(*rng.choice(pairs))


def _repeat(rng: random.Random, content: bytes) -> bytes:
    """Say a piece again and again."""
    if not content:
        return content
    place = rng.randrange(len(content))
    piece = content[place : place + rng.randint(1, 40)]
    return content[:place] + piece * rng.choice((2, 3, 30, 3000)) + content[place:]


def _word(rng: random.Random, content: bytes) -> bytes:
    """Put one word of the file in another's place."""
    words = list(re.finditer(rb"[A-Za-z_]{2,}", content))
    if len(words) < 2:
        return content
    one, other = rng.sample(words, 2)
    return content[: one.start()] + other[0] + content[one.end() :]


def _encoding(rng: random.Random, content: bytes) -> bytes:
    text = content.decode("utf-8", "replace")
    return text.encode(
        rng.choice(("utf-16", "utf-16-le", "utf-32", "latin-1", "cp1252")), "replace"
    )


WAYS = (
    *(_other_number,) * 8, *(_lines,) * 3, *(_word,) * 3, *(_insert,) * 3,
    *(_flip,) * 2, *(_cut,) * 2, _end, _fields, _fields, _repeat, _encoding,
)  # fmt: skip
