"""The least-squares path against certified problems: parameters and standard errors, from both starts."""

import re
from pathlib import Path

import numpy as np
import pytest
from numpy import exp

from farface.kernel import NotConverged
from farface.optics.least_squares import fit_least_squares

FILES = Path(__file__).parent / "data" / "nist_strd"
# Certified to eleven digits; six are asked for.
DIGITS = 1e-6


def el_nino(b, x):
    turns = [(b[i], b[i + 1], 2 * np.pi * x / period) for i, period in ((1, 12.0), (4, b[3]), (7, b[6]))]
    return b[0] + sum(c * np.cos(angle) + s * np.sin(angle) for c, s, angle in turns)


def cubics(b, x):
    return (b[0] + b[1] * x + b[2] * x**2 + b[3] * x**3) / (1 + b[4] * x + b[5] * x**2 + b[6] * x**3)


def two_bells(b, x):
    bells = (b[i] * exp(-((x - b[i + 1]) ** 2) / b[i + 2] ** 2) for i in (2, 5))
    return b[0] * exp(-b[1] * x) + sum(bells)


MODELS = {
    "Misra1a": lambda b, x: b[0] * (1 - exp(-b[1] * x)),
    "Chwirut2": lambda b, x: exp(-b[0] * x) / (b[1] + b[2] * x),
    "DanWood": lambda b, x: b[0] * x ** b[1],
    "Lanczos3": lambda b, x: sum(b[i] * exp(-b[i + 1] * x) for i in (0, 2, 4)),
    "Gauss3": two_bells,
    "Kirby2": lambda b, x: (b[0] + b[1] * x + b[2] * x**2) / (1 + b[3] * x + b[4] * x**2),
    "Hahn1": cubics,
    "MGH17": lambda b, x: b[0] + b[1] * exp(-x * b[3]) + b[2] * exp(-x * b[4]),
    "Roszman1": lambda b, x: b[0] - b[1] * x - np.arctan(b[2] / (x - b[3])) / np.pi,
    "ENSO": el_nino,
    "MGH09": lambda b, x: b[0] * (x**2 + x * b[1]) / (x**2 + x * b[2] + b[3]),
    "Thurber": cubics,
    "BoxBOD": lambda b, x: b[0] * (1 - exp(-b[1] * x)),
    "Rat42": lambda b, x: b[0] / (1 + exp(b[1] - b[2] * x)),
    "Rat43": lambda b, x: b[0] / (1 + exp(b[1] - b[2] * x)) ** (1 / b[3]),
    "MGH10": lambda b, x: b[0] * exp(b[1] / (x + b[2])),
    "Eckerle4": lambda b, x: b[0] / b[1] * exp(-0.5 * ((x - b[2]) / b[1]) ** 2),
    "Bennett5": lambda b, x: b[0] * (b[1] + x) ** (-1 / b[2]),
}


def problem(name: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Read starts, certified values and their errors, shape (parameter, 4), then y and x."""
    text = (FILES / f"{name}.dat").read_text()
    table = re.findall(r"^\s*b\d+\s*=\s*(\S+)\s+(\S+)\s+(\S+)\s+(\S+)", text, re.MULTILINE)
    lines = text[text.rindex("Data:") :].splitlines()[1:]
    y, x = np.array([line.split() for line in lines if line.strip()], dtype=float).T
    return np.array(table, dtype=float), y, x


@pytest.mark.published
@pytest.mark.filterwarnings("ignore:overflow", "ignore:invalid value", "ignore:divide by zero")
@pytest.mark.parametrize("start", [0, 1])
@pytest.mark.parametrize("name", MODELS)
def test_certified_problems_of_nist(name: str, start: int) -> None:
    """NIST Statistical Reference Datasets, as in tests/data/nist_strd: values and standard deviations."""
    certified, y, x = problem(name)
    model = MODELS[name]

    def misfit(b: np.ndarray) -> np.ndarray:
        return np.asarray(model(b, x) - y)

    if (name, start) == ("BoxBOD", 0):  # from there the curve flattens out, and says so
        with pytest.raises(NotConverged, match="do not tell"):
            fit_least_squares(misfit, certified[:, start])
        return
    fit = fit_least_squares(misfit, certified[:, start])
    assert fit.found == pytest.approx(certified[:, 2], rel=DIGITS)
    assert fit.errors_sd == pytest.approx(certified[:, 3], rel=DIGITS)


@pytest.mark.exact
def test_a_straight_line_has_the_errors_of_the_closed_form() -> None:
    rng = np.random.default_rng(1)
    x = np.linspace(0.0, 4.0, 30)
    y = 2.0 + 3.0 * x + 0.2 * rng.standard_normal(30)
    fit = fit_least_squares(lambda b: b[0] + b[1] * x - y, np.array([0.0, 1.0]))
    slope, level = np.polyfit(x, y, 1)
    assert fit.found == pytest.approx([level, slope], rel=1e-8)
    s2 = float(fit.left @ fit.left) / 28
    around2 = float(((x - x.mean()) ** 2).sum())
    errors = [np.sqrt(s2 * (1 / 30 + x.mean() ** 2 / around2)), np.sqrt(s2 / around2)]
    assert fit.errors_sd == pytest.approx(errors, rel=1e-8)


def test_readings_that_cannot_tell_parameters_apart_say_so() -> None:
    x = np.linspace(0.0, 1.0, 10)
    with pytest.raises(NotConverged, match="wider range"):
        fit_least_squares(lambda b: (b[0] + b[1]) * x - x, np.array([0.3, 0.3]))
