"""Formulas of the calculation report: read as a book prints them, set for print, worked out before they are printed."""

from __future__ import annotations

import math

import pytest
import typst

from api.figures import Units
from api.report.amounts import amount_words, digits_words, error_words
from api.report.formula import Name, worked_out
from api.report.reading import read_formula
from api.report.substituting import formula_lines
from api.report.typeset import is_word, set_relation, set_symbol
from fem.steel.model import Check, Quantity
from tests.report_samples import INCH, PSI, sample_checks

SYMBOLS = ("As", "fy", "f'c", "b", "d", "a", "rho", "lb,rqd", "(cb + Ktr) / db")
VALUES = {"As": 2.0, "fy": 3.0, "f'c": 5.0, "b": 7.0, "d": 11.0, "a": 13.0, "rho": 17.0, "lb,rqd": 19.0}
VALUES["(cb + Ktr) / db"] = 23.0


@pytest.mark.parametrize(
    ("text", "tight", "value"),
    [
        ("As fy / (0.85 f'c b)", False, 2 * 3 / (0.85 * 5 * 7)),
        ("As fy / 0.85 f'c b", True, 2 * 3 / (0.85 * 5 * 7)),
        ("As fy / 0.85 f'c b", False, 2 * 3 / 0.85 * 5 * 7),
        ("As fy (d - a/2)", False, 6 * (11 - 6.5)),
        ("-d + 3a - b - As", False, -11 + 39 - 7 - 2),
        ("sqrt(f'c) + max(b, d, 1.5 in) - min(a, b)", False, math.sqrt(5) + 11 - 7),
        ("d2 + (a/2)2 + b^2", False, 121 + 42.25 + 49),
        ("2 lb,rqd", False, 38.0),
        ("1 / ((cb + Ktr) / db) As", False, 2 / 23),
        ("cbrt(As 4) pi", False, 2 * math.pi),
        ("rho fy / f'c^2", False, 51 / 25),
        ("3/40 fy", False, 9 / 40),
        ("sqrt (f'c)", False, math.sqrt(5)),
    ],
)
def test_a_formula_is_read_as_a_book_prints_it(text: str, tight: bool, value: float) -> None:
    relation = read_formula(f"x = {text}", SYMBOLS, tight)
    assert relation is not None
    assert relation.signs == ("=",)
    assert worked_out(relation.parts[1], VALUES, {"in": 2.0}) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("text", ["a = ", "(a", "a +", "min(a,", "a ; b", "# #", "\\", "$"])
def test_what_is_no_formula_is_none(text: str) -> None:
    assert read_formula(text, SYMBOLS, False) is None


def test_a_symbol_without_a_value_has_no_worth() -> None:
    relation = read_formula("a / c", SYMBOLS, False)
    assert relation is not None
    assert worked_out(relation.parts[0], VALUES, {}) is None
    zero = read_formula("a / (b - b)", SYMBOLS, False)
    assert zero is not None
    assert worked_out(zero.parts[0], VALUES, {}) is None


@pytest.mark.parametrize(
    "text",
    [
        "phi Mn", "f'c", "lb,rqd", "beta = (h - x) / (d - x)", "cover, show face", "3/4 of the clear gap", "Icr / Ig",
        "eps_sm - eps_cm", "#panic()", '"); panic("', "\\", "$x$", "ld of the formula", "zażółć", "A" * 300,
        "lambda, 5 years", "", "12", "a_b_c", "//", "/*",
    ],
)  # fmt: skip
def test_every_symbol_can_be_laid_out(text: str) -> None:
    source = set_symbol(text)
    page = f'#set page(width: auto)\n#eval({_string(source)}, mode: "math")'
    assert typst.compile(page.encode(), format="svg", ignore_system_fonts=True)


def test_words_are_told_from_symbols() -> None:
    assert all(map(is_word, ("of", "spacing", "cover", "weld", "needed", "gap")))
    assert not any(map(is_word, ("ld", "lst", "fctm", "phi", "epsy", "sigma", "As", "beta1", "a", "fs")))


def test_a_factor_of_several_terms_keeps_its_brackets() -> None:
    relation = read_formula("wk = sr,max (eps_sm - eps_cm)", ("wk", "sr,max", "eps_sm - eps_cm"), False)
    assert relation is not None
    assert isinstance(relation.parts[0], Name)
    assert set_relation(relation).endswith("(" + set_symbol("eps_sm - eps_cm") + ")")


@pytest.mark.parametrize("units", ["us", "si"])
def test_numbers_printed_come_to_the_result(units: Units) -> None:
    block, strength, anchorage, spacing, fit = (formula_lines(check, units) for check in sample_checks())
    assert [line.numbers != "" for line in (*block, *strength, *anchorage, *fit)] == [True] * 4
    assert [line.numbers for line in spacing] == [""]
    # By hand: 3/40 * 70000/sqrt(6000) * 0.8/2.5 * 0.1483 = 3.216 in; the constant goes with psi in any report.
    assert anchorage[0].units == "us"
    assert anchorage[0].numbers.endswith('upright("3.216\u00a0in")')
    assert anchorage[0].words == ", not less than 12 in"
    assert anchorage[0].implied == ("lambda",)
    assert block[0].units == units


def test_numbers_that_do_not_come_to_the_result_are_not_printed() -> None:
    first = sample_checks()[0]
    wrong = Check(
        first.name, first.clause, first.formula, first.given, Quantity("a", 1.02 * first.result.value, "length")
    )
    assert [line.numbers for line in formula_lines(wrong, "us")] == [""]


def test_a_constant_of_one_system_is_not_hidden_by_a_greatest_of_several() -> None:
    given = (Quantity("f'c", 6000 * PSI, "stress"), Quantity("db", 0.5 * INCH, "length"))
    check = Check("l", "ACI 318-19", "l = max(12 in, 0.1 sqrt(f'c) db)", given, Quantity("l", 12 * INCH, "length"))
    assert [line.units for line in formula_lines(check, "si")] == ["us"]


def test_what_is_asked_is_worked_out_too() -> None:
    """What stands on the other side of the relation has a line of its own, with numbers."""
    given = (Quantity("h", 2.0 * INCH, "length"),)
    result, limit = Quantity("s", 5.0 * INCH, "length"), Quantity("s,max", 6.0 * INCH, "length")
    check = Check("spacing", "ACI 318-19", "s <= s,max; s,max = min(3 h, 18 in)", given, result, "<=", limit)
    first, second = formula_lines(check, "us")
    assert first.numbers == ""
    assert second.numbers.endswith('upright("6\u00a0in")')


def test_words_stand_before_and_behind_a_formula() -> None:
    given = (Quantity("d", 1.0, "length"), Quantity("x", 0.5, "length"))
    check = Check("x", "", "from x^2 / 2 = As (d - x) for every t", given, Quantity("y", 1.0, "number"))
    (line,) = formula_lines(check, "si")
    assert (line.before, line.words) == ("from", "for every t")
    assert line.formula.startswith('frac(x^("2"), "2") = ')


def test_steps_on_the_way_are_worked_out() -> None:
    given = (Quantity("h", 2.0 * INCH, "length"), Quantity("m", 4.0 * PSI * INCH**2, "moment per length"))
    formula = "I = h3/12; y = h / 2; s = m y / I"
    lines = formula_lines(Check("s", "", formula, given, Quantity("s", 6.0 * PSI, "stress")), "us")
    assert [line.numbers.rsplit("= ", 1)[1] for line in lines] == [
        'upright("0.6667")',
        'upright("1")',
        'upright("6\u00a0psi")',
    ]


def test_amounts_keep_four_figures_and_their_bars_bound() -> None:
    moment = Quantity("Mu", 932.13, "moment per length", 10.61)
    assert amount_words(moment, "si") == "932.1\u00a0N·mm/mm"
    assert error_words(moment, "si") == "± 11"
    assert amount_words(moment, "us") == "209.6\u00a0lbf·in/in"
    assert error_words(moment, "us") == "± 2.4"
    assert error_words(Quantity("Mu", 1.0, "moment"), "us") == ""
    assert [digits_words(x) for x in (123456.0, math.inf, math.nan, 0.0)] == ["123\u2009500", "without bound", "-", "0"]


def _string(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
