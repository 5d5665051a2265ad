"""What the benchmarks may spend, and the table of what they did spend."""

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

BUDGET = tomllib.loads((Path(__file__).parent / "budget.toml").read_text(encoding="utf-8"))
SPENT: dict[str, float] = {}


@pytest.fixture(scope="session")
def within() -> Callable[[str, float], bool]:
    """Is a figure within its budget; it is kept for the table, the larger one where there are several of a name."""

    def told(name: str, spent: float) -> bool:
        SPENT[name] = max(spent, SPENT.get(name, 0.0))
        return bool(spent <= BUDGET[name]["most"])

    return told


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Every figure beside its budget."""
    if not SPENT:
        return
    terminalreporter.section("budget")
    for name, spent in SPENT.items():
        line = BUDGET[name]
        unit = line.get("unit", "")
        over = "" if spent <= line["most"] else "  OVER"
        terminalreporter.line(f"{spent:10.4g} of {line['most']:<7g} {unit:<2} {line['what']}{over}")
