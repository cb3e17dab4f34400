"""A small calculator of its own that works printed lines again.

A number is printed to five figures, so it stands for all numbers within half a unit of
its last figure. The calculator carries that as an interval through the arithmetic: the
printed result, with half a unit of its own, has to meet the interval that comes out.
Numbers that stand in the formula itself (60, 0.95, 0.70917) are taken as exact.
"""

import itertools
import math
import re

# The method takes 1e-9 as nothing before it rounds up or down (design, step 12).
ROUNDING = 1e-9
# Float error of a few operations on numbers of up to a million.
FLOAT = 1e-9

Interval = tuple[float, float]

_TOKEN = re.compile(
    r"\s*(round up\(|round down\(|min\(|max\(|√\(|[()+−×/^,]|-?\d+(?:\.\d+)?)"
)


def half_unit(text: str) -> float:
    """Half a unit of the fifth figure of a printed number, or of its ones."""
    value = abs(float(text))
    if value == 0:
        return 0.0
    return 0.5 * 10.0 ** -max(0, 4 - math.floor(math.log10(value)))


def tokens(text: str) -> list[str]:
    found, place = [], 0
    while place < len(text.rstrip()):
        match = _TOKEN.match(text, place)
        assert match, f"cannot read {text[place:]!r} in {text!r}"
        found.append(match[1])
        place = match.end()
    return found


class Calculator:
    """Recursive descent over sums, products and powers of intervals."""

    def __init__(self, text: str, exact: set[str]) -> None:
        self.left = tokens(text)
        self.exact = exact

    def result(self) -> Interval:
        value = self.sum()
        assert not self.left, f"not used: {self.left}"
        return value

    def sum(self) -> Interval:
        low, high = self.product()
        while self.left and self.left[0] in "+−":
            sign = self.left.pop(0)
            a, b = self.product()
            low, high = (low + a, high + b) if sign == "+" else (low - b, high - a)
        return low, high

    def product(self) -> Interval:
        value = self.power()
        while self.left and self.left[0] in "×/":
            sign = self.left.pop(0)
            other = self.power()
            if sign == "/":
                assert other[0] * other[1] > 0, "division by what may be 0"
                other = 1 / other[1], 1 / other[0]
            corners = [a * b for a, b in itertools.product(value, other)]
            value = min(corners), max(corners)
        return value

    def power(self) -> Interval:
        base = self.atom()
        if self.left and self.left[0] == "^":
            self.left.pop(0)
            exponent = self.atom()
            assert base[0] >= 0
            corners = [a**b for a, b in itertools.product(base, exponent)]
            return min(corners), max(corners)
        return base

    def atom(self) -> Interval:
        token = self.left.pop(0)
        if token == "(":
            value = self.sum()
        elif token == "√(":
            value = tuple(map(math.sqrt, self.sum()))
        elif token == "round up(":
            value = tuple(math.ceil(end - ROUNDING) for end in self.sum())
        elif token == "round down(":
            value = tuple(math.floor(end + ROUNDING) for end in self.sum())
        elif token in ("min(", "max("):
            pick = min if token == "min(" else max
            several = [self.sum()]
            while self.left[0] == ",":
                self.left.pop(0)
                several.append(self.sum())
            value = tuple(pick(ends) for ends in zip(*several, strict=True))
        else:
            half = 0.0 if token in self.exact else half_unit(token)
            return float(token) - half, float(token) + half
        assert self.left.pop(0) == ")"
        return value


_SPLIT = re.compile(r"    = (?P<numbers>[^=]+) = (?P<rest>[^=]+)")
_REST = re.compile(
    r"(?P<value>-?\d+(?:\.\d+)?)(?: (?P<unit>[^\s\[]+))? +\[(?P<source>.+)\]"
)


def unwrapped(text: str) -> list[str]:
    """Lines with their continuations, which are set in by six blanks, put back."""
    lines: list[str] = []
    for line in text.split("\n"):
        if line.startswith("      ") and lines:
            lines[-1] += " " + line.strip()
        else:
            lines.append(line)
    return lines


def formula_lines(text: str) -> list[tuple[str, str, str, str, str]]:
    """Words, numbers, value, unit and source of every worked line."""
    found = []
    lines = unwrapped(text)
    for before, line in itertools.pairwise(lines):
        if line.startswith("    ="):
            split = _SPLIT.fullmatch(line)
            assert split, line
            rest = _REST.fullmatch(split["rest"])
            assert rest, line
            words = before.split(" = ", 1)[1]
            found.append(
                (words, split["numbers"], rest["value"], rest["unit"], rest["source"])
            )
    return found


def faults(text: str) -> tuple[int, list[str]]:
    """How many worked lines an explanation has, and those that do not hold."""
    wrong = []
    lines = formula_lines(text)
    for words, numbers, value, _, source in lines:
        exact = set(re.findall(r"\d+(?:\.\d+)?", words))
        low, high = Calculator(numbers, exact).result()
        half = half_unit(value) + FLOAT * max(1, abs(low), abs(high))
        if not low - half <= float(value) <= high + half:
            wrong.append(f"{numbers} = {value}, not {low:.8g} to {high:.8g}")
        if not source.strip():
            wrong.append(f"{numbers} = {value} has no source")
    return len(lines), wrong
