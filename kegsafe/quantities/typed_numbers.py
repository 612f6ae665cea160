"""Numbers as people type them, read without guessing.

A decimal point and a decimal comma both work, as do fractions and ½. What could
mean two numbers is refused with both named. Nothing is ever evaluated.
"""

import re
import unicodedata
from decimal import Context, Decimal

LONGEST_TEXT = 40  # characters; checked before anything else looks at the text
MOST_FIGURES = 12  # significant figures, in and out
LARGEST_EXPONENT = 9
SMALLEST = Decimal("1e-15")  # less than this of anything is nothing, in and out

EXACT = Context(prec=40)
SETTLED = Context(prec=MOST_FIGURES)

# Before compatibility normalising, which would make 1½ into 11/2.
_SIGNS = str.maketrans(
    {
        **dict.fromkeys("\u2212\u2010\u2011\u2012\u2013\ufe63\uff0d", "-"),
        "\uff0b": "+",
        "\u066b": ".",
        "\uff0e": ".",
        "\uff0c": ",",
        "\u2044": "/",
        "\u2215": "/",
        "º": "°",
        "\u2019": "'",
        "\u201d": '"',
        "½": " 1/2",
        "¼": " 1/4",
        "¾": " 3/4",
        "⅓": " 1/3",
        "⅔": " 2/3",
        "⅛": " 1/8",
        "⅜": " 3/8",
        "⅝": " 5/8",
        "⅞": " 7/8",
    }
)
_SHAPE = re.compile(
    r"(?P<sign>[+-]?)\s*"
    r"(?:(?:(?P<whole>[0-9]+)(?:\s+|-))?(?P<top>[0-9]+)/(?P<bottom>[0-9]+)"
    r"|(?P<plain>[0-9.,]+)(?:[eE](?P<exponent>[+-]?[0-9]+))?)"
)
_GROUPED = re.compile(r"[1-9][0-9]{0,2}(?:,[0-9]{3})+\Z|[1-9][0-9]{0,2}(?:\.[0-9]{3})+\Z")
_ONE_DECIMAL = re.compile(r"[0-9]*[.,][0-9]+\Z|[0-9]+\Z")


class NumberTrouble(ValueError):
    """Why a text holds no readable number; a sentence without the typed text."""

    def __init__(self, trouble: str, advice: str = "") -> None:
        super().__init__(trouble)
        self.advice = advice


def split(text: str) -> tuple[Decimal, str, str]:
    """The number a text starts with, its characters, and whatever follows it.

    `text` is at most LONGEST_TEXT characters. Raises NumberTrouble.
    """
    plain = _ascii_digits(text.translate(_SIGNS)).strip()
    if not plain:
        raise NumberTrouble("holds nothing to read.")
    shape = _SHAPE.match(plain)
    if shape is None:
        raise NumberTrouble("does not start with a number.")
    rest = plain[shape.end() :].strip()
    _refuse_two_readings(shape["plain"] or "", rest)
    return _value(shape), shape.group().strip(), rest


def _refuse_two_readings(typed: str, rest: str) -> None:
    """1,000 is a thousand to one person and one to the next."""
    if _GROUPED.match(typed) and typed.count(",") == 1:
        thousand, one = typed.replace(",", ""), typed.replace(",", ".")
        advice = f"{thousand} {rest}".strip() + " or " + f"{one} {rest}".strip()
        raise NumberTrouble(
            f"can be read as {thousand} or as {one}.", f"Write it without the comma: {advice}."
        )


def _ascii_digits(text: str) -> str:
    """Digits of any one script as 0-9. Two scripts mixed can look like another number."""
    zeros = {ord(c) - unicodedata.decimal(c) for c in text if c.isdecimal()}
    if len(zeros) > 1:
        raise NumberTrouble("mixes digits of two scripts.")
    return "".join(str(unicodedata.decimal(c)) if c.isdecimal() else c for c in text)


def _value(shape: re.Match[str]) -> Decimal:
    size = _fraction(shape) if shape["bottom"] else _plain(shape["plain"], shape["exponent"])
    return EXACT.minus(size) if shape["sign"] == "-" else size


def _fraction(shape: re.Match[str]) -> Decimal:
    whole, top, bottom = (Decimal(shape[name] or 0) for name in ("whole", "top", "bottom"))
    if not 0 < bottom < 1000:
        raise NumberTrouble("divides by nothing a measure is marked in.")
    if shape["whole"] and top >= bottom:
        raise NumberTrouble("has a fraction larger than one behind a whole number.")
    _check_figures(f"{whole}{top}")
    return SETTLED.plus(EXACT.add(whole, EXACT.divide(top, bottom)))


def _plain(typed: str, exponent: str | None) -> Decimal:
    digits = _with_decimal_point(typed)
    _check_figures(digits)
    power = _power(exponent)
    number = EXACT.scaleb(Decimal(digits), power)
    if 0 < number < SMALLEST:
        raise NumberTrouble("is too small for any measure.")
    return number


def _power(exponent: str | None) -> int:
    if exponent is None:
        return 0
    if len(exponent) > 3 or abs(int(exponent)) > LARGEST_EXPONENT:
        raise NumberTrouble("has a power of ten too large for any measure.")
    return int(exponent)


def _check_figures(digits: str) -> None:
    figures = digits.replace(".", "").lstrip("0")
    if len(figures) > MOST_FIGURES:
        raise NumberTrouble(f"has more than {MOST_FIGURES} figures.")


def _with_decimal_point(typed: str) -> str:
    """One number with a decimal point, or NumberTrouble where it could be two numbers."""
    if "." in typed and "," in typed:
        return _both_separators(typed)
    if _GROUPED.match(typed):
        return _groups_only(typed)
    if _ONE_DECIMAL.match(typed):
        return typed.replace(",", ".")
    raise NumberTrouble("is not one number.")


def _both_separators(typed: str) -> str:
    """1.000,5 and 1,000.5: the last separator is the decimal one, the rest exact groups."""
    point = max(typed.rfind("."), typed.rfind(","))
    groups, decimals = typed[:point], typed[point + 1 :]
    if not _GROUPED.match(groups) or typed[point] in groups or not decimals:
        raise NumberTrouble("is not one number.")
    return re.sub("[.,]", "", groups) + "." + decimals


def _groups_only(typed: str) -> str:
    """1,000,000 is one number; so is 1.000, as the decimal point is the rule here."""
    if len(re.findall("[.,]", typed)) > 1:
        return re.sub("[.,]", "", typed)
    return typed
