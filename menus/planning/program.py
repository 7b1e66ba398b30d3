"""A mixed-integer program, solved by HiGHS: one thread and a fixed seed, so that the same program ends the same."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import highspy

from menus.planning.linear import Linear, total

INFINITY = highspy.kHighsInf
SOLVED = highspy.HighsModelStatus.kOptimal
IMPOSSIBLE = (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible)


class Quiet(highspy.Highs):
    """HiGHS that prints nothing, not even the line with which it introduces itself while it is made."""

    def __init__(self) -> None:
        super().__init__()  # type: ignore[no-untyped-call]

    def enableCallbacks(self) -> None:
        self.setOptionValue("output_flag", False)
        super().enableCallbacks()  # type: ignore[no-untyped-call]


@dataclass(frozen=True, slots=True)
class Solution:
    """What a search came to. `values` is None when it found nothing; `impossible` when there is nothing to find."""

    values: tuple[float, ...] | None
    bound: float
    proven: bool
    impossible: bool = False

    def of(self, expression: Linear) -> float:
        """Return the expression at the solution. Only for a search that found one."""
        assert self.values is not None
        return expression.constant + sum(self.values[each] * factor for each, factor in expression.terms.items())


class Program:
    """Variables and rows; solved for one objective after the other."""

    def __init__(self) -> None:
        self._highs = Quiet()
        for option, value in {"threads": 1, "random_seed": 0, "mip_rel_gap": 0.0}.items():
            self._highs.setOptionValue(option, value)
        self._integers: list[int] = []
        self._choices: list[int] = []

    def number(self, lower: float, upper: float) -> Linear:
        """Add a variable between two bounds."""
        self._highs.addVar(lower, upper)
        return Linear({self._highs.getNumCol() - 1: 1.0})

    def whole(self, lower: int, upper: int) -> Linear:
        """Add a variable that is a whole number."""
        variable = self.number(lower, upper)
        [index] = variable.terms
        self._highs.changeColIntegrality(index, highspy.HighsVarType.kInteger)
        self._integers.append(index)
        return variable

    def choice(self) -> Linear:
        """Add a variable that is 0 or 1."""
        choice = self.whole(0, 1)
        self._choices.extend(choice.terms)
        return choice

    def require(self, expression: Linear, lower: float = 0.0, upper: float = INFINITY) -> None:
        """Hold the expression between two bounds."""
        terms = {variable: factor for variable, factor in expression.terms.items() if factor}
        self._highs.addRow(
            lower - expression.constant, upper - expression.constant, len(terms), list(terms), list(terms.values())
        )

    def minimise(
        self, objective: Linear, seconds: float, *, step: float = 0.0, start: Sequence[float] | None = None
    ) -> Solution:
        """Search for the smallest objective for at most so many seconds, from a solution when one is known.

        `step` is the least by which two values of the objective differ: a bound closer than that is a proof.
        """
        highs, columns = self._highs, self._highs.getNumCol()
        costs = [objective.terms.get(column, 0.0) for column in range(columns)]
        highs.changeColsCost(columns, list(range(columns)), costs)
        highs.changeObjectiveOffset(objective.constant)
        highs.setOptionValue("mip_abs_gap", max(step - 1e-3, 1e-6))
        if start is not None:
            known = highspy.HighsSolution()
            known.col_value = list(start)
            highs.setSolution(known)
        self._run(seconds)
        if not self._says_what_it_returns(objective):
            highs.clearSolver()
            self._run(seconds)
        return self._solution(objective)

    def _run(self, seconds: float) -> None:
        self._highs.setOptionValue("time_limit", seconds)
        self._highs.run()

    def _says_what_it_returns(self, objective: Linear) -> bool:
        """Tell whether the value that HiGHS reports is that of the solution which it hands back.

        HiGHS 1.16 may find a better solution than the one it started from while it simplifies the program, report that
        value, and hand back the start.
        """
        solution = self._solution(objective)
        return solution.values is None or abs(solution.of(objective) - self._highs.getObjectiveValue()) < 1e-3

    def choices(self, solution: Solution) -> dict[int, int]:
        """Return what the solution chose, by the number of the variable."""
        assert solution.values is not None
        return {index: round(solution.values[index]) for index in self._choices}

    def exclude(self, choices: Mapping[int, int]) -> None:
        """Rule out this one combination of choices."""
        differs = total(Linear({each: 1.0 if not value else -1.0}, float(value)) for each, value in choices.items())
        self.require(differs, 1)

    def cap(self, variable: Linear, upper: float) -> None:
        """Give a variable that starts at 0 another upper bound."""
        [index] = variable.terms
        self._highs.changeColBounds(index, 0, upper)

    def fix_choices(self, solution: Solution) -> None:
        """Hold every whole number at what the solution says; what is left are the times."""
        assert solution.values is not None
        for index in self._integers:
            value = round(solution.values[index])
            self._highs.changeColBounds(index, value, value)

    def _solution(self, objective: Linear) -> Solution:
        highs = self._highs
        status, info = highs.getModelStatus(), highs.getInfo()
        if status in IMPOSSIBLE:
            return Solution(None, INFINITY, proven=True, impossible=True)
        if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return Solution(None, -INFINITY, proven=False)
        bound = info.mip_dual_bound if math.isfinite(info.mip_dual_bound) else -INFINITY
        solution = Solution(tuple(highs.getSolution().col_value), bound, proven=status == SOLVED)
        return solution if solution.of(objective) < bound + 1 else replace(solution, proven=False)
