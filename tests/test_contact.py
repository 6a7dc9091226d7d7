"""One-sided contact against brute force: every set of bearing contacts tried, every balance asked of another solver."""

from __future__ import annotations

from itertools import product

import numpy as np
import numpy.typing as npt
import pytest
from scipy.optimize import linprog

from fem.plate.contact import Contact, ContactProblem, can_balance, solve_contact

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]


def random_problem(seed: int, s: int | None = None, two_sided: float = 0.2) -> ContactProblem:
    """Contacts at random places of a 2 m slab, a flexibility of the right kind, gaps of up to a tenth of the sag."""
    random = np.random.default_rng(seed)
    s = s or int(random.integers(3, 9))
    places = random.uniform(0, 2, (s, 2))
    root = random.standard_normal((s, s + 2))
    load = random.uniform(500, 2000)
    middle = random.dirichlet(np.ones(s)) @ places
    springs = np.where(random.uniform(size=s) < 0.3, random.uniform(0, 1e-6, s), 0.0)
    return ContactProblem(
        1e-7 * root @ root.T / s + np.diag(springs),
        1e-4 * random.standard_normal(s),
        np.concatenate([np.ones((1, s)), places.T]),
        load * np.append(1.0, middle),
        np.where(random.uniform(size=s) < 0.5, random.uniform(-1e-5, 1e-5, s), 0.0),
        random.uniform(size=s) > two_sided,
        2.0,
    )


def opening(p: ContactProblem, contact: Contact) -> FloatArray:
    """Clear distance left between slab and support (s,) [m]."""
    sunk = p.displacement - p.flexibility @ contact.force + p.motion.T @ contact.motion
    return np.asarray(p.gap - sunk)


def brute_force(p: ContactProblem) -> FloatArray | None:
    """Forces (s,) of the one set of bearing contacts that pulls nowhere and enters nowhere; None if there is none."""
    s = len(p.gap)
    for bears in product((False, True), repeat=s):
        on = np.array(bears) | ~p.one_sided
        k = int(on.sum())
        if tuple(on) != bears or k < 3:
            continue
        G = p.motion[:, on]
        A = np.block([[p.flexibility[np.ix_(on, on)], -G.T], [G, np.zeros((3, 3))]])
        # Millimetres for the motion and for its rows, so that the solve keeps its digits.
        A[:k, :k] *= 1e3
        b = np.concatenate([1e3 * (p.displacement - p.gap)[on], p.load])
        x = np.linalg.solve(A, b)
        force = np.zeros(s)
        force[on] = x[:k]
        clear = p.gap - p.displacement + p.flexibility @ force - p.motion.T @ (1e-3 * x[k:])
        if (force[p.one_sided] >= -1e-9 * p.load[0]).all() and (clear[~on] >= -1e-12).all():
            return force
    return None


@pytest.mark.parametrize("seed", range(40))
def test_forces_are_those_of_the_only_possible_set(seed: int) -> None:
    p = random_problem(seed)
    expected = brute_force(p)
    assert expected is not None
    contact = solve_contact(p)
    assert contact.converged
    assert not contact.rocks
    # Both roads solve the same small system; its condition is below 1e6.
    assert np.abs(contact.force - expected).max() <= 1e-8 * np.abs(expected).max()


@pytest.mark.parametrize("seed", range(100, 120))
def test_complementarity_of_many_contacts(seed: int) -> None:
    p = random_problem(seed, s=60)
    contact = solve_contact(p)
    assert contact.converged
    scale, slack = np.abs(contact.force).max(), np.abs(p.flexibility).max() * np.abs(contact.force).max()
    clear = opening(p, contact)
    assert (contact.force[p.one_sided] >= -1e-8 * scale).all()
    assert (clear[p.one_sided] >= -1e-7 * slack).all()
    assert np.abs(contact.force * clear).max() <= 1e-7 * scale * slack
    assert np.abs(clear[~p.one_sided]).max(initial=0.0) <= 1e-7 * slack
    assert p.motion @ contact.force == pytest.approx(p.load, rel=1e-9)


# The least energy is another way to say it: no other set of forces that balances has less.
@pytest.mark.parametrize("seed", range(200, 206))
def test_no_balanced_forces_have_less_energy(seed: int) -> None:
    p = random_problem(seed, s=8, two_sided=0.0)
    found = solve_contact(p).force
    random = np.random.default_rng(seed)

    def energy(f: FloatArray) -> float:
        return float(f @ p.flexibility @ f / 2 - f @ (p.displacement - p.gap))

    for _ in range(20):
        other = linprog(random.uniform(-1, 1, 8), A_eq=p.motion, b_eq=p.load, method="highs").x
        assert other is not None
        mixed = found + random.uniform(0, 1) * (other - found)
        assert energy(mixed) >= energy(found) - 1e-9 * abs(energy(found))


def random_balance(seed: int) -> tuple[FloatArray, FloatArray, BoolArray]:
    random = np.random.default_rng(seed)
    s = int(random.integers(2, 9))
    motion = np.concatenate([np.ones((1, s)), random.uniform(0, 1, (s, 2)).T])
    return motion, 1000 * np.append(1.0, random.uniform(0, 1, 2)), random.uniform(size=s) > 0.15


@pytest.mark.parametrize("seed", range(300, 360))
def test_balance_is_what_a_linear_programme_says(seed: int) -> None:
    motion, load, one_sided = random_balance(seed)
    bounds = [(0, None) if one else (None, None) for one in one_sided]
    possible = linprog(np.zeros(len(bounds)), A_eq=motion, b_eq=load / 1000, bounds=bounds, method="highs").status == 0
    balances, left = can_balance(motion, load, one_sided, 1.0)
    assert balances == possible
    if possible:
        assert np.abs(left).max() < 1e-7
    else:
        # The imbalance is the motion in which the load sinks and no support is entered.
        assert left @ load > 0
        assert (left @ motion[:, one_sided] <= 1e-9).all()
        assert np.abs(left @ motion[:, ~one_sided]).max(initial=0.0) < 1e-9


def test_random_balances_are_of_both_kinds() -> None:
    answers = [can_balance(*random_balance(seed), 1.0)[0] for seed in range(300, 360)]
    assert 10 < sum(answers) < 50


def four_corners(gap: float, one_sided: bool = True, spring: float = 0.0) -> ContactProblem:
    """A square on its corners, a unit force in the middle: only the twist (1, -1, 1, -1) is elastic."""
    twist = np.array([1.0, -1, 1, -1])
    return ContactProblem(
        1e-6 * np.outer(twist, twist) / 4 + (1e-12 + spring) * np.eye(4),
        np.zeros(4),
        np.array([[1.0, 1, 1, 1], [0, 1, 1, 0], [0, 0, 1, 1]]),
        np.array([1000.0, 500, 500]),
        np.array([gap, 0, 0, 0]),
        np.full(4, one_sided),
        1.0,
    )


# Forces 250 N -+ f twist the square by 1e-6 f at each corner, a quarter of the gap; 250 N is all a rest can lose.
@pytest.mark.parametrize(("gap", "force"), [(0.0, 0.0), (4e-4, 100.0), (8e-4, 200.0), (3e-3, 250.0), (-4e-4, -100.0)])
def test_a_low_corner_takes_less_by_the_twist_it_needs(gap: float, force: float) -> None:
    contact = solve_contact(four_corners(gap))
    assert contact.converged
    # The hair of compliance that keeps the matrix regular is 1e-6 of the twist's.
    assert contact.force == pytest.approx(250 - force * np.array([1, -1, 1, -1]), rel=1e-4, abs=1e-2)


def test_what_holds_may_pull() -> None:
    contact = solve_contact(four_corners(3.6e-3, one_sided=False))
    assert contact.force == pytest.approx([-650, 1150, -650, 1150], rel=1e-4)
    assert contact.bears.all()


def test_a_spring_shares_by_stiffness() -> None:
    # Twist and springs in series close the gap: twice the compliance, half the force.
    stiff, soft = (solve_contact(four_corners(1e-4, spring=k)).force[1] - 250 for k in (0.0, 1e-6))
    assert soft / stiff == pytest.approx(0.5, rel=1e-4)


def test_two_contacts_on_one_spot_share_in_peace() -> None:
    p = random_problem(7, s=5, two_sided=0.0)
    twice = [0, 1, 2, 3, 4, 2]
    doubled = ContactProblem(
        p.flexibility[np.ix_(twice, twice)] + 1e-18 * np.eye(6),
        p.displacement[twice],
        p.motion[:, twice],
        p.load,
        p.gap[twice],
        p.one_sided[twice],
        p.length,
    )
    one, two = solve_contact(p), solve_contact(doubled)
    assert two.converged
    together = two.force[:5] + np.where(np.arange(5) == 2, two.force[5], 0.0)
    assert together == pytest.approx(one.force, rel=1e-6, abs=1e-6 * one.force.max())


@pytest.mark.parametrize(("places", "rocks"), [([0, 1], True), ([0, 1, 2], True), ([0, 1, 3], False)])
def test_rocking_is_told_apart(places: list[int], rocks: bool) -> None:
    at = np.array([[0.0, 0.5], [1.0, 0.5], [2.0, 0.5], [1.0, 2.0]])[places]
    s = len(at)
    middle = at.mean(axis=0) if not rocks else np.array([0.4, 0.5])
    load = 1000.0 * np.append(1.0, middle)
    motion = np.concatenate([np.ones((1, s)), at.T])
    assert can_balance(motion, load, np.ones(s, dtype=bool), 2.0)[0]
    contact = solve_contact(
        ContactProblem(1e-7 * np.eye(s), np.zeros(s), motion, load, np.zeros(s), np.ones(s, dtype=bool), 2.0)
    )
    assert contact.rocks is rocks
    assert contact.converged
    assert motion @ contact.force == pytest.approx(load, rel=1e-9)


@pytest.mark.parametrize("factor", [1e-6, 1e6])
def test_units_do_not_matter(factor: float) -> None:
    p = random_problem(11)
    scaled = ContactProblem(
        p.flexibility / factor, p.displacement, p.motion, factor * p.load, p.gap, p.one_sided, p.length
    )
    assert solve_contact(scaled).force == pytest.approx(factor * solve_contact(p).force, rel=1e-8)
