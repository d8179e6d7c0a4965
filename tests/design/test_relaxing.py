"""The constraint model said as a mixed integer programme allows what the model allows, and bounds it."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Sequence
from itertools import product
from typing import Any

import numpy as np
import pytest
from ortools.sat.python import cp_model

from mixcraft.crops import load_crop
from mixcraft.design.brief import Brief
from mixcraft.design.choice import Model, Task, choose
from mixcraft.design.constants import constant
from mixcraft.design.curves import WEEKS, Option
from mixcraft.design.ground import ground_of
from mixcraft.design.relaxing import _limits, _rows, relaxed
from mixcraft.place import Place
from mixcraft.recipe.model import Bed, Garden


def rules() -> Any:
    """A model of every kind of rule that a design has: sums with limits, sums that literals switch, alternatives, a greatest."""
    model: Any = cp_model.CpModel()
    a, b, c = (model.new_bool_var(name) for name in "abc")
    n = model.new_int_var(0, 3, "n")
    model.add(n <= 2 * a + 1)
    model.add(n + a >= 2).only_enforce_if(b)
    model.add(n <= 2).only_enforce_if([b, ~c])
    model.add(n == 1).only_enforce_if([~a, c])
    model.add_bool_or([~a, b])
    model.add_at_most_one([a, ~c])
    model.add_max_equality(c, [a, b])
    return model


def allows(model: Any, values: Sequence[int]) -> bool:
    """Whether the solver of constraints takes the values."""
    fixed: Any = model.clone()
    for index, value in enumerate(values):
        fixed.add(fixed.get_int_var_from_proto_index(index) == value)
    return bool(cp_model.CpSolver().solve(fixed) == cp_model.OPTIMAL)


def test_the_rows_allow_what_the_rules_allow() -> None:
    """All 32 choices of three truths and a number are tried in both."""
    model, told = rules(), []
    low, high = _limits(model.proto)
    rows = [row for rule in model.proto.constraints for row in _rows(rule, low, high)]
    for values in product((0, 1), (0, 1), (0, 1), range(4)):
        sums = [sum(factor * values[variable] for variable, factor in terms) for terms, _, _ in rows]
        held = all(least - 1e-9 <= s <= most + 1e-9 for s, (_, least, most) in zip(sums, rows, strict=True))
        assert held == allows(model, values), values
        told.append(held)
    assert 0 < sum(told) < len(told)


def task(place: Place, count: int, **said: object) -> Task:
    """So many crops for a small bed, each picked in three weeks of eight wanted ones."""
    found = []
    for n, crop in enumerate(("radish", "spinach", "kohlrabi", "lettuce-cos", "beetroot", "dill")[:count]):
        curve = np.zeros(WEEKS)
        curve[18 + n : 21 + n] = 0.4 + 0.2 * n
        found.append(Option(load_crop(crop), load_crop(crop).establish[0], f"0{2 + n % 3}-05", 5 + 4 * (n % 3), 20 + n, curve))
    bed = Bed("small", 0.9, 1.0)
    brief = Brief(Garden("test", place, (bed,)), "small", **said)  # type: ignore[arg-type]
    return Task(brief, tuple(found), ground_of(bed, 52.0), range(18, 26), 2.0, 2.0)


def test_the_programme_bounds_the_best_choice(oxford: Place) -> None:
    asked = task(oxford, 6)
    made = Model(asked)
    solver = made.cp.CpSolver()
    assert solver.solve(made.model) == made.cp.OPTIMAL
    found = relaxed(Model(asked))
    assert solver.objective_value - 1e-3 <= found.bound <= 1.1 * solver.objective_value
    assert len(found.values) == len(made.model.proto.variables)


def test_a_choice_that_begins_with_the_programme_is_no_worse(oxford: Place) -> None:
    asked = task(oxford, 6)
    much, little = choose(asked, 1, 2.0 * constant("relax_from_work")), choose(asked, 1, 0.5 * constant("relax_from_work"))
    assert much.points >= (1.0 - constant("stop_gap")) * little.points
    assert much.bound >= little.points - 1e-6
    assert 0.0 <= much.gap <= constant("stop_gap") + 1e-9


def test_demands_that_clash_have_no_programme(oxford: Place) -> None:
    musts = (load_crop("radish"), load_crop("spinach"))
    assert relaxed(Model(task(oxford, 3, musts=musts, most_crops=1))).none
    assert not relaxed(Model(task(oxford, 3, musts=musts, most_crops=2))).none


def test_a_rule_that_is_not_known_is_refused() -> None:
    model: Any = cp_model.CpModel()
    model.add_bool_xor([model.new_bool_var("a"), model.new_bool_var("b")])
    low, high = _limits(model.proto)
    with pytest.raises(NotImplementedError):
        list(_rows(model.proto.constraints[0], low, high))


def test_it_is_found_where_the_command_has_kept_it_out() -> None:
    """The installed command starts without SciPy, which is imported when a design wants it."""
    said = (
        "import sys; sys.modules['scipy'] = None\n"
        "from types import SimpleNamespace\n"
        "from ortools.sat.python import cp_model\n"
        "from mixcraft.design.relaxing import relaxed\n"
        "model = cp_model.CpModel(); a = model.new_int_var(0, 5, 'a'); model.add(2 * a <= 7); model.maximize(a)\n"
        "found = relaxed(SimpleNamespace(model=model)); print(found.bound, found.values)\n"
    )
    done = subprocess.run([sys.executable, "-c", said], capture_output=True, text=True, check=False)
    assert done.stdout == "3.0 (3,)\n", done.stderr
