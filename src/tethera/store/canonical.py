"""One way to write a JSON value, letter for letter the same everywhere: the JSON Canonicalization Scheme.

References: A. Rundgren, B. Jordan, S. Erdtman, JSON Canonicalization Scheme (JCS), RFC 8785, June 2020, section 3.2:
no blanks, names sorted by UTF-16 units, strings and numbers as ECMAScript's JSON.stringify writes them, in UTF-8.
"""

import math
from collections.abc import Iterable, Mapping
from json.encoder import encode_basestring
from typing import Any

#: Whole numbers up to here are the same as double and as integer (RFC 8785 knows doubles only).
_EXACT = 2**53


def canonical(value: Any) -> bytes:
    """A value of objects, lists, strings, numbers, true, false and null in its one form.

    ValueError for what has none: not a number, infinity, half a letter (a lone surrogate).

    >>> canonical({"b": [1.0, 0.5, None], "a": "€"})
    b'{"a":"\\xe2\\x82\\xac","b":[1,0.5,null]}'
    """
    return _written(value).encode()


def _written(value: Any) -> str:
    # A string is the usual case by far.
    if isinstance(value, str):
        return encode_basestring(value)
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    if isinstance(value, int | float):
        return number(value)
    if isinstance(value, Mapping):
        inside = (f"{encode_basestring(name)}:{_written(value[name])}" for name in _sorted(value))
        return f"{{{','.join(inside)}}}"
    if isinstance(value, list | tuple):
        return f"[{','.join(map(_written, value))}]"
    raise ValueError(f"JSON knows no {type(value).__name__}")


def _sorted(names: Iterable[str]) -> list[str]:
    # Names in plain letters, as those of fields are, stand in the same order either way.
    plain = sorted(names)
    return plain if all(map(str.isascii, plain)) else sorted(plain, key=_utf16)


def _utf16(name: str) -> bytes:
    return name.encode("utf-16-be", "surrogatepass")


def number(value: float) -> str:
    """A number as ECMAScript writes it, of an integer its nearest double; ValueError unless it is finite.

    >>> number(10.0), number(-0.0), number(1e-7), number(123456789012345680000.0), number(1e21), number(0.00001)
    ('10', '0', '1e-7', '123456789012345680000', '1e+21', '0.00001')
    """
    if isinstance(value, int):
        if -_EXACT <= value <= _EXACT:
            return str(value)
        try:
            value = float(value)
        except OverflowError:
            raise ValueError("a number is too large for JSON") from None
    if not math.isfinite(value):
        raise ValueError(f"JSON knows no {value}")
    if value == 0:
        return "0"
    # Python's shortest digits are ECMAScript's: only where the point and the exponent stand differs.
    sign, text = ("-", repr(-value)) if value < 0 else ("", repr(value))
    mantissa, _, exponent = text.partition("e")
    whole, _, fraction = mantissa.partition(".")
    digits = f"{whole}{fraction}".lstrip("0")
    # The point stands after so many of the digits.
    point = len(whole) + int(exponent or 0) - (len(f"{whole}{fraction}") - len(digits))
    digits = digits.rstrip("0")
    return sign + _placed(digits, point)


def _placed(digits: str, point: int) -> str:
    """ECMAScript's Number::toString, from the digits and how many of them stand before the point."""
    if len(digits) <= point <= 21:
        return digits + "0" * (point - len(digits))
    if 0 < point <= 21:
        return f"{digits[:point]}.{digits[point:]}"
    if -6 < point <= 0:
        return f"0.{'0' * -point}{digits}"
    rest = f".{digits[1:]}" if len(digits) > 1 else ""
    return f"{digits[0]}{rest}e{point - 1:+d}"
