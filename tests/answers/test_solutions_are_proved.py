"""Every formula of the bank is derived again from the governing equations, with SymPy, and compared as a formula.

Nothing here looks at the bank's own formulas but the last step. Sets obey S(ns - nc) + R(nr - nc) = 0, double-pinion
sets S(ns - nc) - R(nr - nc) = 0; pairs roll without slip; torques from outside add up to nothing and do no net work.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import partial
from typing import Any

import pytest
import sympy as sp

from gearkit.answers import items
from gearkit.answers.comparison.formulas import formula, value
from gearkit.answers.draw_numbers import variants
from gearkit.answers.item import Item
from gearkit.solve import mobility, ratios
from gearkit.solve.loads.torques import torques
from gearkit.solve.speeds import speeds
from gearkit.train import catalogue

Expr = Any


def sym(names: str) -> Any:
    return sp.symbols(names, positive=True)


S, P, R, N, S1, R1, S2, R2, S3, R3, S4, R4 = sym("S P R N S1 R1 S2 R2 S3 R3 S4 R4")
z1, z2, z3, z4, m, n, k, j, e, q, T, f, r, t, a, b, c, i, d, w = sym("z1 z2 z3 z4 m n k j e q T f r t a b c i d w")
x, y, u, v = sp.symbols("x y u v")


def single(sun: Expr, ring: Expr, ns: Expr, nc: Expr, nr: Expr) -> Expr:
    return sun * (ns - nc) + ring * (nr - nc)


def double(sun: Expr, ring: Expr, ns: Expr, nc: Expr, nr: Expr) -> Expr:
    return sun * (ns - nc) - ring * (nr - nc)


def solved(equations: list[Expr], unknowns: list[Expr], wanted: Expr) -> Expr:
    (solution,) = sp.solve(equations, unknowns, dict=True)
    return sp.simplify(wanted.subs(solution))


def case(drive: str, hold: str, equation: Callable[..., Expr] = single, sun: Expr = S, ring: Expr = R) -> Expr:
    """Ratio of one set with one member driven at 1, one held, the third free."""
    place = {"S": x, "C": y, "R": u}
    place[drive], place[hold] = sp.Integer(1), sp.Integer(0)
    (out,) = set("SCR") - {drive, hold}
    return 1 / solved([equation(sun, ring, place["S"], place["C"], place["R"])], [place[out]], place[out])


def train(name: str, elements: str) -> Expr:
    """The solver's own ratio in tooth symbols."""
    found = ratios.ratio(catalogue.find(name), elements)
    assert found is not None
    return found.expression()


def planet_total(ns: Expr, nc: Expr) -> Expr:
    return solved([S * (ns - nc) + P * (x - nc)], [x], x)


def simpson(**fixed: Expr) -> Expr:
    """Common suns x, output y (carrier 1 and ring 2), ring 1 u, carrier 2 v; input speed 1; ratio."""
    place = {"suns": x, "ring1": u, "carrier2": v, **fixed}
    unknown = [s for s in (x, u, v) if s in place.values()]
    equations = [
        single(S1, R1, place["suns"], y, place["ring1"]),
        single(S2, R2, place["suns"], place["carrier2"], y),
    ]
    return 1 / solved(equations, [y, *unknown], y)


def two_suns(**fixed: Expr) -> Expr:
    """Small sun a over short and long planets, large sun b over long planets, common carrier and ring; planets explicit."""
    place = {"a": x, "b": u, "carrier": v, **fixed}
    short, long_ = sym("short long")
    ws, wl, ring = sp.symbols("ws wl ring")
    unknown = [s for s in (x, u, v) if s in place.values()]
    carrier = place["carrier"]
    equations = [
        a * (place["a"] - carrier) + short * (ws - carrier),
        short * (ws - carrier) + long_ * (wl - carrier),
        b * (place["b"] - carrier) + long_ * (wl - carrier),
        R * (ring - carrier) - long_ * (wl - carrier),
    ]
    return 1 / solved(equations, [ring, ws, wl, *unknown], ring)


def crossed(element: str) -> Expr:
    return train("Q24", element)


def efficiency(drive: str, hold: str, sun_drives: bool) -> Expr:
    """Efficiency of one set: the ring torque is e times (or 1/e times) what it is without losses."""
    place = {"S": x, "C": y, "R": u}
    place[drive], place[hold] = sp.Integer(1), sp.Integer(0)
    (out,) = set("SCR") - {drive, hold}
    speed = solved([single(S, R, place["S"], place["C"], place["R"])], [place[out]], place[out])
    place[out] = speed
    ring = R / S * (e if sun_drives else 1 / e)
    torque = {"S": sp.Integer(1), "R": ring, "C": -(1 + ring)}
    # The premise is checked at one set of numbers: seen from the carrier, the sun gives or takes power.
    scale = torque[drive]
    rolling = (1 / scale * (place["S"] - place["C"])).subs({S: 30, R: 78, e: sp.Rational(97, 100)})
    assert (rolling > 0) is sp.true if sun_drives else (rolling < 0) is sp.true
    return sp.simplify(-torque[out] * speed / scale)


def chord(places: Expr) -> Expr:
    """Distance of neighbouring planet centres in modules, on a circle of radius (S + P)/2."""
    return 2 * (S + P) / 2 * sp.sin(sp.pi / places)


def lever() -> Expr:
    """Place of the carrier on a lever with the sun at 0 and the ring at 1: the weight of nr in nc."""
    ns, nr = sym("ns nr")
    nc = solved([single(S, R, ns, y, nr)], [y], y)
    return sp.simplify(sp.diff(nc, nr))


def outside_torques() -> dict[str, Expr]:
    """No net work for any motion that the set allows."""
    ring, carrier = sp.symbols("ring carrier")
    nc = (S * x + R * y) / (S + R)
    work = sp.expand(T * x + ring * y + carrier * nc)
    (found,) = sp.solve([work.coeff(x), work.coeff(y)], [ring, carrier], dict=True)
    return {"ring": found[ring], "carrier": found[carrier]}


def from_carrier() -> dict[str, Expr]:
    """Torques of sun and ring for a torque T on the carrier: no net work for any motion that the set allows."""
    sun, ring = sp.symbols("sun ring")
    work = sp.expand(sun * x + ring * y + T * (S * x + R * y) / (S + R))
    (found,) = sp.solve([work.coeff(x), work.coeff(y)], [sun, ring], dict=True)
    return {"sun": found[sun], "ring": found[ring]}


def from_ring_of_pairs() -> dict[str, Expr]:
    """The same for a torque T on the ring of a set with pinions in meshing pairs, sun and carrier moving freely."""
    sun, carrier = sp.symbols("sun carrier")
    ring = solved([double(S, R, x, y, u)], [u], u)
    work = sp.expand(sun * x + carrier * y + T * ring)
    (found,) = sp.solve([work.coeff(x), work.coeff(y)], [sun, carrier], dict=True)
    return {"sun": found[sun], "carrier": found[carrier]}


def housing_torque() -> Expr:
    """Input T at speed 1, output at speed 1/i; no net work, and torques add up to nothing."""
    out, housing = sp.symbols("out housing")
    return solved([T + out / i, T + housing + out], [out, housing], housing)


def gear_speed(first: Expr, last: Expr, external: bool = True) -> Expr:
    """Speed of a gear that meshes with one at speed 1."""
    return solved([first + last * x if external else first - last * x], [x], x)


ns, nc, nr, p1, p2, i1, F, J, mu, ri, ro, g = sym("ns nc nr p1 p2 i1 F J mu ri ro g")
o, z, p = sym("o z p")

M, B = sym("M B")


def place_of(asked: str, **places: int) -> Expr:
    """Where a member is on a straight lever, two others being at given places: as its speed is, given theirs."""
    place = {"sun": x, "carrier": y, "ring": u, **{name: sp.Integer(one) for name, one in places.items()}}
    return solved([single(S, R, place["sun"], place["carrier"], place["ring"])], [place[asked]], place[asked])


def turned_teeth(ring: Expr) -> Expr:
    """Sun teeth that pass while the carrier makes a whole turn and the ring is held, less none: what N has to divide."""
    return sp.simplify(solved([single(S, ring, y, 1, 0)], [y], y) * S)


def torques_from(given: str, letter: Expr) -> dict[str, Expr]:
    """The outside torques on the two other members, by no net work for any motion."""
    torque = {name: sp.Symbol(f"on_{name}") for name in ("sun", "ring", "carrier")}
    nc = (S * x + R * y) / (S + R)
    work = sp.expand(torque["sun"] * x + torque["ring"] * y + torque["carrier"] * nc)
    rest = [torque[name] for name in torque if name != given]
    equations = [work.coeff(x).subs(torque[given], letter), work.coeff(y).subs(torque[given], letter)]
    (found,) = sp.solve(equations, rest, dict=True)
    return {name: found[one] for name, one in torque.items() if name != given}


def crosswise_from(forward: str, first: str, other: str, second: str) -> dict[str, Expr]:
    """The two ranges of the Q24 that are not given, from those that are."""
    elements = {"1": "EF", "2": "BE", "4": "BC", "R": "AD"}
    names = {"1": "first", "2": "second", "4": "fourth", "R": "reverse"}
    known = {forward: sym(first), other: -sym(second) if other == "R" else sym(second)}
    shares = {R1: x * S1, R2: y * S2}
    equations = [sp.Eq(sp.simplify(crossed(elements[one]).subs(shares)), ratio) for one, ratio in known.items()]
    (found,) = sp.solve(equations, [x, y], dict=True)
    return {names[one]: sp.simplify(crossed(elements[one]).subs(shares).subs(found)) for one in elements if one not in known}


DERIVED: dict[str, Callable[[], Any]] = {
    "L01-01": lambda: 1 / gear_speed(z1, z2),
    "L01-02": lambda: 1 / gear_speed(z1, z2, external=False),
    "L01-03": lambda: n * gear_speed(z1, z2),
    "L01-04": lambda: 1 / (gear_speed(z1, z2) * gear_speed(z2, z3)),
    "L01-05": lambda: 1 / (gear_speed(z1, z2) * gear_speed(z3, z4)),
    "L01-07": lambda: m * z2 / 2 - m * z1 / 2,
    "L02-01": lambda: solved([single(S, R, ns, y, nr)], [y], y),
    "L02-02": lambda: solved([single(S, R, ns, nc, y)], [y], y),
    "L02-03": lambda: {
        "ring_still": -nc,
        "sun_still": solved([single(S, R, y, 0, -nc)], [y], y),
        "planet_still": solved([R * -nc - P * y], [y], y),
        "sun": solved([single(S, R, y, nc, 0)], [y], y),
        "planet": solved([R * (0 - nc) - P * (y - nc)], [y], y),
    },
    "L02-04": lambda: planet_total(ns, nc),
    "L02-05": lever,
    "L02-06": lambda: solved([single(S, R, ns, nc, y)], [y], y) * R,
    "L02-08": lambda: solved([S * x + P * y, R - P * y], [x, y], x),
    "L03-01": lambda: {f"{g}_{h}_{o_}": case(g, h) for g, h, o_ in ("SRC", "CRS", "RSC", "CSR", "SCR", "RCS")},
    "L03-02": lambda: case("S", "R"),
    "L03-03": lambda: case("C", "S"),
    "L03-05": lambda: sp.solve(sp.Eq(case("C", "S").subs(R, x * S), q), x)[0],
    "L03-06": lambda: 1 / solved([single(S, R, 1, 1, y)], [y], y),
    "L03-07": lambda: solved([single(S, R, n, 0, y)], [y], y),
    "L03-08": lambda: solved([single(S, R, ns, y, nr)], [y], y),
    "L04-01": lambda: sp.solve(sp.Eq(R, S + 2 * x), x)[0],
    "L04-03": lambda: chord(N) - (P + 2),
    "L04-05": lambda: solved([single(S, R, 360 / S, y, 0)], [y], y),
    "L04-07": lambda: case("C", "S", double),
    "L04-08": lambda: 1 / solved([S * (1 - y) + p1 * (u - y), (S + p1 + p2) * (0 - y) - p2 * (u - y)], [y, u], y),
    "L04-09": lambda: m * S / 2 + m * P / 2,
    "L04-10": lambda: sp.simplify(-solved([double(S, R, y, 360 / N, 0)], [y], y) * S / 360 * N),
    "L05-01": lambda: case("S", "R", sun=S1, ring=R1) * case("S", "R", sun=S2, ring=R2),
    "L05-02": lambda: 3 * k - j,
    "L05-03": lambda: simpson(ring1=1, carrier2=0),
    "L05-04": lambda: simpson(ring1=1, suns=0),
    "L05-05": lambda: simpson(suns=1, carrier2=0),
    "L05-06": lambda: two_suns(a=1, carrier=0),
    "L05-07": lambda: two_suns(a=1, b=0),
    "L05-08": lambda: two_suns(b=1, carrier=0),
    "L05-09": lambda: crossed("BE"),
    "L05-10": lambda: crossed("BC"),
    "L06-03": lambda: train("Q36", "AC"),
    "L06-04": lambda: train("Q36", "AB"),
    "L06-05": lambda: train("Q36", "BC"),
    "L06-06": lambda: train("Q36", "CD"),
    "L06-07": lambda: train("Q36", "CE"),
    "L06-08": lambda: train("Q36", "BE"),
    "L06-09": lambda: train("Q36", "DE"),
    "L06-10": lambda: train("Q48", "AE"),
    "L06-11": lambda: train("Q48", "EF"),
    "L07-01": lambda: (3 * k - j) - k - e,
    "L07-02": lambda: sp.solve(sp.Eq((3 * k - j) - k - x, 1), x)[0],
    # Neutral with B: suns and carrier 2 stand with the standing output; set 1 turns carrier 1 and sun 3, set 3 ring 3.
    "L07-04": lambda: solved([single(S1, R1, 0, x, n), single(S3, R3, x, 0, y)], [x, y], y),
    "L07-05": lambda: solved([single(S1, R1, 0, x, y), single(S2, R2, n, y, x)], [x, y], x),
    "L07-07": lambda: -sym("x") + 2 * 0,
    "L08-01": outside_torques,
    "L08-02": lambda: outside_torques()["ring"],
    "L08-03": housing_torque,
    "L08-04": lambda: -housing_torque().subs(i, -r),
    "L08-05": lambda: sp.solve([x + y - T, x * R - y * S], [x, y], dict=True)[0][x],
    "L08-08": lambda: sp.solve(sp.Eq(T * k, mu * x * f * (ri + ro) / 2 / 1000), x)[0],
    "L09-01": lambda: a * b * c,
    "L09-02": lambda: efficiency("S", "R", sun_drives=True),
    "L09-03": lambda: efficiency("C", "S", sun_drives=True),
    "L09-04": lambda: efficiency("R", "S", sun_drives=False),
    "L09-05": lambda: sp.solve(sp.Eq(x / i, e * T), x)[0],
    "L09-06": lambda: n / i,
    "L09-07": lambda: 1 - 1 / case("S", "R"),
    "L10-01": lambda: a / b,
    "L10-02": lambda: train("Q24", "EF") / train("Q24", "BC"),
    "L10-03": lambda: sp.Pow(a / b, 1 / (k - 1)),
    "L10-05": lambda: n / (i * f) * 2 * sp.pi * r * 60 / 1000,
    "L10-06": lambda: sp.solve(sp.Eq(x / (i * f) * 2 * sp.pi * r * 60 / 1000, v), x)[0].subs(v, sym("v")),
    "L10-07": lambda: T * i * f * e / r,
    "L10-08": lambda: (
        100 * sp.tan(sp.asin(sp.solve(sp.Eq(F, m * sp.Rational(981, 100) * x + c * m * sp.Rational(981, 100)), x)[0]))
    ),
    "L10-09": lambda: (d * sp.Rational(254, 10) + 2 * w * a / 100) / 2,
    "L11-02": lambda: sp.solve(sp.Eq(n / a, x / b), x)[0],
    "L11-03": lambda: solved([single(S1, R1, x, 0, y), single(S2, R2, n, y, 0)], [x, y], x),
    "L11-04": lambda: n - solved([single(S1, R1, 0, x, y), single(S2, R2, n, y, x)], [x, y], x),
    "L11-07": lambda: sp.integrate(T * n * 2 * sp.pi / 60 * (1 - y / t), (y, 0, t)) / 1000,
    "L11-09": lambda: J * (d * 2 * sp.pi / 60) / t,
    "L12-04": lambda: 100 * (n - i * o) / n,
    # Measured output speed = true speed * true teeth / teeth entered, so the ratio reads too high by entered / true.
    "L12-08": lambda: sp.solve(sp.Eq(x / z, 1 + p / 100), x)[0],
    "L13-01": lambda: {
        name: sp.simplify(crossed(elements).subs({R2: (i1 - 1) * S2, R1: r * S1}))
        for name, elements in (("second", "BE"), ("fourth", "BC"))
    },
    "L13-04": lambda: {
        "dS": m * S,
        "dP": m * P,
        "dR": m * R,
        "a": (m * S + m * P) / 2,
        "tipR": m * R - 2 * m,
        "rootR": m * R + 2 * sp.Rational(5, 4) * m,
    },
    "L13-05": lambda: m * (chord(N) - (P + 2)),
    "L13-07": lambda: t * train("Q24", "EF"),
    "L13-08": lambda: T / (m * S / 2 / 1000) / N,
    "L14-01": lambda: solved([single(S, R, x, 1, f)], [x], x),
    "L14-02": lambda: solved([single(S, R, x, n, k)], [x], x),
    "L14-03": lambda: -from_carrier()["sun"],
    "L14-04": lambda: solved([single(S, R, -f, 1, x)], [x], x),
    # What does not come out at the ring goes through M1: the ring turns at f times its speed with the sun standing.
    "L14-05": lambda: w + w * from_carrier()["ring"] / T * f * solved([single(S, R, 0, 1, x)], [x], x),
    "L14-06": lambda: solved([single(S, R, x, n, 0)], [x], x),
    "L14-07": lambda: solved([single(S, R, x, 0, n)], [x], x),
    "L14-08": lambda: k + from_carrier()["ring"],
    "L14-09": lambda: -solved([single(S, R, k, 0, x)], [x], x),
    "L14-10": lambda: sp.solve(sp.Eq(-from_carrier()["sun"], j), T)[0],
    "L14-11": lambda: case("R", "S"),
    "L14-12": lambda: sp.solve([x - q * w, y - f * x], [x, y], dict=True)[0][y],
    "L15-01": lambda: solved([single(1, 1, k, n, x)], [x], x),
    "L15-02": lambda: solved([single(1, 1, 0, n, x)], [x], x),
    "L15-03": lambda: -outside_torques()["carrier"].subs(R, S),
    "L15-04": lambda: -from_carrier()["sun"],
    "L15-05": lambda: sp.solve(sp.Eq((-from_carrier()["sun"] / T).subs(R, x * S), f), x)[0],
    "L15-06": lambda: solved([single(S, R, k, n, x)], [x], x),
    "L15-07": lambda: sp.solve(sp.Eq(T - k - x, 0), x)[0],
    "L15-08": lambda: -from_ring_of_pairs()["sun"],
    # All points of the axle go round once in the same time.
    "L15-09": lambda: sp.solve(sp.Eq(x / (2 * sp.pi * (r + w / 2)), n / (2 * sp.pi * r)), x)[0],
    "L15-10": lambda: 100 * T * n / (T * n + T * k),
    "L15-11": lambda: 1 / solved([a * (1 - y) + b * (u - y), d * (0 - y) - c * (u - y)], [y, u], y),
    "L15-12": lambda: T * i / -outside_torques()["carrier"].subs({R: S, T: 1}),
    "L01-10": lambda: n * gear_speed(z1, z2) * gear_speed(z3, z4),
    "L01-11": lambda: n / (gear_speed(z1, z2) * gear_speed(z3, z4)),
    "L02-09": lambda: sp.solve(sp.Eq(x - nc, w), x)[0],
    "L02-10": lambda: solved([R * (0 - nc) - P * (y - nc)], [y], y),
    "L04-11": lambda: case("S", "R", double),
    # Sun and step mesh externally, step and ring internally; the pinions on a pin turn alike.
    "L04-12": lambda: 1 / solved([sym("S") * 1 + sym("p1") * x, sym("p2") * x - sym("R") * y], [x, y], y),
    "L04-13": lambda: solved([S * (0 - 1) + sym("p1") * x, sym("p2") * x - R * (y - 1)], [x, y], y),
    "L05-11": lambda: n / two_suns(b=1, carrier=0),
    "L09-10": lambda: n / case("S", "R"),
    "L09-11": lambda: n / i / j,
    "L10-10": lambda: a / sp.Pow(a / b, 1 / (k - 1)),
    "L10-11": lambda: sp.solve(sp.Eq(a / z1, z1 / b), z1)[0],
    "L11-10": lambda: sp.solve(sp.Eq(n / b, x / a), x)[0],
    "L11-11": lambda: T * n * 2 * sp.pi / 60 / 1000,
}
# These are checked below, number by number over many draws, against the solver or by counting.
BY_NUMBERS = {"L04-04", "L08-06", "L08-07", "L09-08", "L13-06"}
DESIGNS = {item.id for item in items.all_items() if item.constraints}
FORMULA_ITEMS = [item for item in items.all_items() if item.answer and not item.constraints]
# What other versions of an item ask, in the order of its versions.
OTHERS: dict[str, list[Callable[[], Any]]] = {
    "L01-01": [
        lambda: gear_speed(z1, z2),
        lambda: 1 / gear_speed(z1, z2, external=False),
        lambda: gear_speed(z1, z2, external=False),
    ],
    "L02-01": [
        lambda: solved([single(S, R, ns, nc, y)], [y], y),
        lambda: solved([single(S, R, y, nc, nr)], [y], y),
        lambda: planet_total(ns, nc),
    ],
    # The lever is straight: places go as speeds do, whatever the two speeds are that are chosen.
    "L02-05": [
        lambda: place_of("carrier", ring=0, sun=1),
        lambda: place_of("ring", carrier=0, sun=1),
        lambda: place_of("sun", carrier=0, ring=1),
    ],
    "L02-08": [
        lambda: solved([S * y + P * x, R - P * x], [x, y], y) ** -1,
        lambda: solved([S * x + P], [x], x),
        lambda: solved([P * x - R], [x], x),
    ],
    "L03-06": [lambda: case("S", "R", sun=sym("S2"), ring=sym("R2")), lambda: case("R", "S", sun=sym("S2"), ring=sym("R2"))],
    "L04-01": [
        lambda: sp.solve(sp.Eq(x, S + 2 * P), x)[0],
        lambda: sp.solve(sp.Eq(R, x + 2 * P), x)[0],
        lambda: (S + sp.solve(sp.Eq(R, S + 2 * x), x)[0]) / 2,
    ],
    "L04-10": [lambda: turned_teeth(R), lambda: turned_teeth(S + 2 * P), lambda: turned_teeth(R).subs(S, R - 2 * P)],
    "L06-09": [lambda: f * train("Q36", "DE"), lambda: f * train("Q36", "DE")],
    "L07-01": [
        lambda: sp.solve(sp.Eq((3 * k - j) - k - x, f), x)[0],
        lambda: sp.solve(sp.Eq((3 * k - x) - k - e, 1), x)[0],
        lambda: (3 * k - j) - k,
    ],
    "L08-01": [
        lambda: torques_from("sun", M),
        lambda: torques_from("ring", T),
        lambda: torques_from("ring", M),
        lambda: torques_from("carrier", T),
        lambda: torques_from("carrier", M),
    ],
    "L08-03": [
        lambda: solved([x - M / i, x + y - M], [x, y], y),
        lambda: sp.solve(sp.Eq(housing_torque(), B), T)[0],
        lambda: sp.solve(sp.Eq(housing_torque(), B), i)[0],
    ],
    "L13-01": [
        partial(crosswise_from, *known)
        for known in (
            ("1", "a", "R", "q"),
            ("1", "c", "R", "u"),
            ("2", "i2", "R", "r"),
            ("2", "b", "R", "q"),
            ("2", "d", "R", "u"),
            ("1", "i1", "4", "g"),
            ("1", "a", "4", "h"),
            ("1", "c", "4", "w"),
            ("2", "i2", "4", "g"),
            ("2", "b", "4", "h"),
            ("2", "d", "4", "w"),
        )
    ],
}


@pytest.mark.parametrize("item", [item for item in FORMULA_ITEMS if item.versions], ids=lambda item: item.id)
def test_the_formulas_of_other_versions_follow_from_the_governing_equations_too(item: Item) -> None:
    for question, derivation in zip(item.questions[1:], OTHERS[item.id], strict=True):
        derived = derivation()
        answers = {"answer": question.answer} if isinstance(question.answer, str) else dict(question.answer)
        derived = derived if isinstance(derived, dict) else {"answer": derived}
        assert set(derived) == set(answers)
        for name, text in answers.items():
            assert sp.simplify(as_sympy(text) - derived[name]) == 0, (name, text, derived[name])


def as_sympy(text: str) -> Expr:
    def built(tree: Any) -> Expr:
        kind = tree[0]
        if kind == "number":
            return sp.Rational(tree[1].numerator, tree[1].denominator)
        if kind == "symbol":
            return sp.pi if tree[1] == "pi" else sym(tree[1])
        if kind == "call":
            parts = [built(part) for part in tree[2]]
            if tree[1] == "root":
                return sp.Pow(parts[0], 1 / parts[1])
            return {"sin": sp.sin, "asin": sp.asin, "tan": sp.tan}[tree[1]](*parts)
        if kind == "neg":
            return -built(tree[1])
        if kind == "power":
            return built(tree[1]) ** tree[2]
        left, right = built(tree[1]), built(tree[2])
        return {"+": left + right, "-": left - right, "*": left * right}[kind] if kind != "/" else left / right

    return built(formula(text).tree)


def test_every_formula_item_is_proved() -> None:
    assert {item.id for item in FORMULA_ITEMS} == set(DERIVED) | BY_NUMBERS
    assert not set(DERIVED) & BY_NUMBERS


@pytest.mark.parametrize("item", [item for item in FORMULA_ITEMS if item.id in DERIVED], ids=lambda item: item.id)
def test_the_formula_follows_from_the_governing_equations(item: Item) -> None:
    derived = DERIVED[item.id]()
    answers = {"answer": item.answer} if isinstance(item.answer, str) else dict(item.answer)
    derived = derived if isinstance(derived, dict) else {"answer": derived}
    assert set(derived) == set(answers)
    for name, text in answers.items():
        assert sp.simplify(as_sympy(text) - derived[name]) == 0, (name, text, derived[name])


def many(item_id: str, number: int = 40) -> list[variants.Variant]:
    item = items.find(item_id)
    return [variants.practice(item, f"proof {count}") for count in range(number)]


@pytest.mark.parametrize(("item_id", "elements"), [("L08-06", "AC"), ("L08-07", "BC")])
def test_torques_of_elements_are_the_solvers(item_id: str, elements: str) -> None:
    for variant in many(item_id):
        assert variant.layout is not None
        loads = torques(variant.layout, elements, variant.values["T"], 1)
        for name, text in dict(variant.item.answer).items():
            found = loads.elements[name]
            assert found is not None
            assert abs(found) == value(text, variant.key.values)


def test_power_round_the_loop_is_the_solvers() -> None:
    for variant in many("L09-08"):
        assert variant.layout is not None
        loads = torques(variant.layout, "CE", 1, 1)
        turning = speeds(variant.layout, "CE")
        torque, speed = loads.members["P1.sun"], turning.members["P1.sun"]
        assert torque is not None
        assert speed is not None
        assert torque * speed == value(str(variant.item.answer), variant.key.values)


def test_ratios_of_drawn_layouts_are_the_solvers() -> None:
    for item_id, elements in (("L06-05", "BC"), ("L06-06", "CD"), ("L06-07", "CE"), ("L06-10", "AE")):
        for variant in many(item_id, 15):
            assert variant.layout is not None
            assert mobility.assess(variant.layout, elements).ratio == value(str(variant.item.answer), variant.key.values)


def test_most_planets_by_room_are_found_by_trying() -> None:
    for variant in many("L04-04"):
        sun, planet = (float(variant.values[letter]) for letter in "SP")
        fits = [count for count in range(2, 60) if (sun + planet) * float(sp.sin(sp.pi / count)) > planet + 2]
        assert max(fits) == value(str(variant.item.answer), variant.key.values)


def test_lines_across_a_tooth_are_found_by_laying_them_side_by_side() -> None:
    for variant in many("L13-06"):
        module, backlash, width = (sp.Rational(str(variant.values[letter])) for letter in "mjw")
        thickness, lines = sp.pi * module / 2 - backlash / 2, 0
        while (lines + 1) * width <= thickness:
            lines += 1
        assert lines == value(str(variant.item.answer), variant.key.values)


@pytest.mark.parametrize("item_id", sorted(DESIGNS))
def test_the_hidden_design_of_a_design_item_meets_its_demands(item_id: str) -> None:
    from gearkit.answers.judge import marking

    for variant in many(item_id, 20):
        result = marking.mark(variant, marking.right_answer(variant))
        assert result.score == variant.item.marks


def test_the_proof_would_notice_a_wrong_formula() -> None:
    assert sp.simplify(as_sympy("1 + S/R") - case("S", "R")) != 0
    assert Fraction(1) != value("1 + R3/S3", {"R3": Fraction(93), "S3": Fraction(59)})
