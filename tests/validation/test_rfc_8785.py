"""The canonical form of JSON, against the examples of its published standard.

[1] A. Rundgren, B. Jordan, S. Erdtman, JSON Canonicalization Scheme (JCS), RFC 8785, June 2020, sections 3.2.2 to
    3.2.4 and appendix B.
[2] The test data of its authors, https://github.com/cyberphone/json-canonicalization, folder testdata, README.md: a
    sequence of doubles made by a rule, and the SHA-256 of the file of how each is written.
"""

import hashlib
import json
import struct
from collections.abc import Iterator

import pytest

from tethera.store.canonical import canonical, number

# [1] 3.2.2, the sample object, and 3.2.4, its bytes.
SAMPLE = r"""{
  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}"""
SAMPLE_BYTES = """
7b 22 6c 69 74 65 72 61 6c 73 22 3a 5b 6e 75 6c 6c 2c 74 72 75 65 2c 66 61 6c 73 65 5d 2c 22 6e 75 6d 62 65 72 73 22
3a 5b 33 33 33 33 33 33 33 33 33 2e 33 33 33 33 33 33 33 2c 31 65 2b 33 30 2c 34 2e 35 2c 30 2e 30 30 32 2c 31 65 2d
32 37 5d 2c 22 73 74 72 69 6e 67 22 3a 22 e2 82 ac 24 5c 75 30 30 30 66 5c 6e 41 27 42 5c 22 5c 5c 5c 5c 5c 22 2f 22
7d
"""
# [1] 3.2.3: in this order stand the names of the example of sorting.
SORTED = ("\r", "1", "\x80", "\u00f6", "\u20ac", "\U0001f600", "\ufb33")
# [1] appendix B: the double in hexadecimal and how it is written; None where it is an error.
NUMBERS = (
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("7fffffffffffffff", None),
    ("7ff0000000000000", None),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
)
# [2]: the first values of the sequence, the checksums of the first lines.
STATIC = """
0000000000000000 8000000000000000 0000000000000001 8000000000000001 c46696695dbd1cc3 c43211ede4974a35
c3fce97ca0f21056 c3c7213080c1a6ac c39280f39a348556 c35d9b1f5d20d557 c327af4c4a80aaac c2f2f2a36ecd5556
c2be51057e155558 c28840d131aaaaac c253670dc1555557 c21f0b4935555557 c1e8d5d42aaaaaac c1b3de4355555556
c17fca0555555556 c1496e6aaaaaaaab c114585555555555 c0e046aaaaaaaaab c0aa0aaaaaaaaaaa c074d55555555555
c040aaaaaaaaaaab c00aaaaaaaaaaaab bfd5555555555555 bfa1111111111111 bf6b4e81b4e81b4f bf35d867c3ece2a5
bf0179ec9cbd821e becbf647612f3696 be965e9f80f29212 be61e54c672874db be2ca213d840baf8 bdf6e80fe033c8c6
bdc2533fe68fd3d2 bd8d51ffd74c861c bd5774ccac3d3817 bd22c3d6f030f9ac bcee0624b3818f79 bcb804ea293472c7
bc833721ba905bd3 bc4ebe9c5db3c61e bc18987d17c304e5 bbe3ad30dfcf371d bbaf7b816618582f bb792f9ab81379bf
bb442615600f9499 bb101e77800c76e1 bad9ca58cce0be35 baa4a1e0a3e6fe90 ba708180831f320d ba3a68cd9e985016
446696695dbd1cc3 443211ede4974a35 43fce97ca0f21056 43c7213080c1a6ac 439280f39a348556 435d9b1f5d20d557
4327af4c4a80aaac 42f2f2a36ecd5556 42be51057e155558 428840d131aaaaac 4253670dc1555557 421f0b4935555557
41e8d5d42aaaaaac 41b3de4355555556 417fca0555555556 41496e6aaaaaaaab 4114585555555555 40e046aaaaaaaaab
40aa0aaaaaaaaaaa 4074d55555555555 4040aaaaaaaaaaab 400aaaaaaaaaaaab 3fd5555555555555 3fa1111111111111
3f6b4e81b4e81b4f 3f35d867c3ece2a5 3f0179ec9cbd821e 3ecbf647612f3696 3e965e9f80f29212 3e61e54c672874db
3e2ca213d840baf8 3df6e80fe033c8c6 3dc2533fe68fd3d2 3d8d51ffd74c861c 3d5774ccac3d3817 3d22c3d6f030f9ac
3cee0624b3818f79 3cb804ea293472c7 3c833721ba905bd3 3c4ebe9c5db3c61e 3c18987d17c304e5 3be3ad30dfcf371d
3baf7b816618582f 3b792f9ab81379bf 3b442615600f9499 3b101e77800c76e1 3ad9ca58cce0be35 3aa4a1e0a3e6fe90
3a708180831f320d 3a3a68cd9e985016 4024000000000000 4014000000000000 3fe0000000000000 3fa999999999999a
3f747ae147ae147b 3f40624dd2f1a9fc 3f0a36e2eb1c432d 3ed4f8b588e368f1 3ea0c6f7a0b5ed8d 3e6ad7f29abcaf48
3e35798ee2308c3a 3ed539223589fa95 3ed4ff26cd5a7781 3ed4f95a762283ff 3ed4f8c60703520c 3ed4f8b72f19cd0d
3ed4f8b5b31c0c8d 3ed4f8b58d1c461a 3ed4f8b5894f7f0e 3ed4f8b588ee37f3 3ed4f8b588e47da4 3ed4f8b588e3849c
3ed4f8b588e36bb5 3ed4f8b588e36937 3ed4f8b588e368f8 3ed4f8b588e368f1 3ff0000000000000 bff0000000000000
bfeffffffffffffa bfeffffffffffffb 3feffffffffffffa 3feffffffffffffb 3feffffffffffffc 3feffffffffffffe
bfefffffffffffff bfefffffffffffff 3fefffffffffffff 3fefffffffffffff 3fd3333333333332 3fd3333333333333
3fd3333333333334 0010000000000000 000ffffffffffffd 000fffffffffffff 7fefffffffffffff ffefffffffffffff
4340000000000000 c340000000000000 4430000000000000 44b52d02c7e14af5 44b52d02c7e14af6 44b52d02c7e14af7
444b1ae4d6e2ef4e 444b1ae4d6e2ef4f 444b1ae4d6e2ef50 3eb0c6f7a0b5ed8c 3eb0c6f7a0b5ed8d 41b3de4355555553
41b3de4355555554 41b3de4355555555 41b3de4355555556 41b3de4355555557 becbf647612f3696 43143ff3c1cb0959
"""
SUMS = {
    1_000: "be18b62b6f69cdab33a7e0dae0d9cfa869fda80ddc712221570f9f40a5878687",
    10_000: "b9f7a8e75ef22a835685a52ccba7f7d6bdc99e34b010992cbc5864cd12be6892",
    100_000: "22776e6d4b49fa294a0d0f349268e5c28808fe7e0cb2bcbe28f63894e494d4c7",
}


def double(hexadecimal: str) -> float:
    (value,) = struct.unpack(">d", bytes.fromhex(hexadecimal))
    assert isinstance(value, float)
    return value


def test_the_sample_object_has_the_published_bytes() -> None:
    assert canonical(json.loads(SAMPLE)) == bytes.fromhex(SAMPLE_BYTES)


def test_names_are_sorted_by_utf_16_units() -> None:
    written = json.loads(canonical(dict.fromkeys(reversed(SORTED), 0)))
    assert tuple(written) == SORTED


@pytest.mark.parametrize(("bits", "written"), NUMBERS)
def test_numbers_are_written_as_in_appendix_b(bits: str, written: str | None) -> None:
    if written is None:
        with pytest.raises(ValueError, match="JSON knows no"):
            number(double(bits))
    else:
        assert number(double(bits)) == written


def sequence() -> Iterator[float]:
    """The doubles of [2]: those listed, 2,000 from the smallest normal one on, then what SHA-256 gives of itself."""
    yield from map(double, STATIC.split())
    for step in range(2000):
        yield double(f"{0x0010000000000000 + step:016x}")
    block = bytes(32)
    while True:
        block = hashlib.sha256(block).digest()
        yield from (each for each in struct.unpack("<4d", block) if each != 0 and abs(each) < float("inf"))


def test_a_hundred_thousand_numbers_have_the_published_sums() -> None:
    digest, found = hashlib.sha256(), {}
    for line, value in enumerate(sequence(), 1):
        bits = int.from_bytes(struct.pack(">d", value), "big")
        digest.update(f"{bits:x},{number(value)}\n".encode())
        if line in SUMS:
            found[line] = digest.hexdigest()
        if len(found) == len(SUMS):
            break
    assert found == SUMS


def test_half_a_letter_has_no_canonical_form() -> None:
    """[1] 3.2.2.2: a lone surrogate must be an error."""
    with pytest.raises(ValueError, match="surrogates"):
        canonical("\ud800")
