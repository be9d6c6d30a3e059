"""Reasons that a single set has: why its planets do not go together, why a ratio is as it is."""

from __future__ import annotations

from gearkit.answers.draw_numbers.pool import Teeth
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.reasoning.reasons import Reasons
from gearkit.words.say import say


def why_a_set_does_not_go_together(teeth: Teeth, seeded: SeededRandom) -> Reasons | None:
    """Why a set with one number of planets or teeth changed does not go together.

    Args:
        teeth: a set that does go together.
        seeded: what is changed, and how.
    """
    from gearkit.solve.teeth.assembly import assembly

    what = seeded.pick(("ring", "planets", "room"))
    sun, planet, ring, planets = teeth.sun, teeth.planet, teeth.ring, teeth.planets
    if what == "ring":
        ring += seeded.pick((1, 2, -1, -2)) * planets
    elif what == "planets":
        planets = seeded.pick((3, 4, 5, 6))
    else:
        planets = seeded.pick((5, 6, 7, 8))
    fit = assembly(sun, planet, ring, planets)
    faults = [
        word for word, fits in (("coaxial", fit.coaxial), ("spacing", fit.equal_spacing), ("room", fit.neighbours)) if not fits
    ]
    if len(faults) != 1:
        return None
    said = {
        "coaxial": say(
            "sun, planet and ring do not lie round one axis: sun teeth and twice the planet teeth are not the ring teeth"
        ),
        "spacing": say(
            "the planets cannot be spaced equally: sun and ring teeth together do not divide by the number of planets"
        ),
        "room": say(
            "neighbouring planets would touch: the chord between their centres is not longer than a planet's tip diameter"
        ),
        "mesh": say("sun and planet have different numbers of teeth, so that they cannot mesh"),
        "even": say("the ring has more teeth than sun and planet together, so that a planet falls through"),
    }
    codes = {"coaxial": "HALF", "spacing": "SPACE", "room": "TIP", "mesh": "NOTFOLLOW", "even": "NOTFOLLOW"}
    shown = say(
        "A simple set with $S = {sun}$, $P = {planet}$, $R = {ring}$ and {planets} equally spaced planets does not go together.",
        sun=sun,
        planet=planet,
        ring=ring,
        planets=planets,
    )
    (fault,) = faults
    return Reasons(shown, said[fault], tuple((codes[word], text) for word, text in said.items() if word != fault))


def why_a_ratio_is_as_it_is(seeded: SeededRandom) -> Reasons:
    """Why one set makes the ratio that it makes: which member is driven, held or free.

    Args:
        seeded: the case and the member.
    """
    cases = (
        ("sun", "ring", "carrier"),
        ("carrier", "ring", "sun"),
        ("ring", "sun", "carrier"),
        ("carrier", "sun", "ring"),
        ("sun", "carrier", "ring"),
        ("ring", "carrier", "sun"),
    )
    drive, hold, out = seeded.pick(cases)
    shown = {
        "carrier_out": say("turns in the same direction as the input, and slower"),
        "carrier_in": say("turns in the same direction as the input, and faster"),
        "carrier_held": say("turns against the input"),
    }
    said = {
        "carrier_held": say(
            "with the carrier held the planets are plain idlers: one external and one internal mesh lie between sun and ring, so that the direction is reversed once"
        ),
        "carrier_out": say("the carrier runs at a weighted average of sun and ring, and one of the two stands"),
        "carrier_in": say(
            "the carrier runs at a weighted average of sun and ring, and one of the two stands, so that the other has to run ahead of the carrier"
        ),
        "two_joined": say("two members are joined, so that the third has to go with them"),
        "teeth": say("the carrier has as many teeth as sun and ring together, and meshes with the planets"),
        "two_external": say("two external meshes lie between input and output, so that the direction is reversed twice"),
    }
    kind = "carrier_held" if hold == "carrier" else "carrier_out" if out == "carrier" else "carrier_in"
    codes = {
        "carrier_held": "HELDMOVES",
        "carrier_out": "NOTFOLLOW",
        "carrier_in": "NOTFOLLOW",
        "two_joined": "LOCKFREE",
        "teeth": "CARTEETH",
        "two_external": "IDLER",
    }
    words = say(
        "The {drive} of a simple set drives and the {hold} is held. The {out} {shown}.",
        drive=drive,
        hold=hold,
        out=out,
        shown=shown[kind],
    )
    # A weighted average explains both cases with a turning carrier in part: of the two only one is offered.
    leave = {"carrier_out", "carrier_in"} if kind != "carrier_held" else set()
    return Reasons(
        words, said[kind], tuple((codes[word], text) for word, text in said.items() if word != kind and word not in leave)
    )
