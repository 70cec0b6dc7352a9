"""Exercises for lesson 07, will it go on: centre distances, backlash, the rule of thumb and where it comes from."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations, permutations
from math import cos, radians, tan

from gearcalc.basics.exact import INCH_MM, as_fraction
from gearcalc.basics.writing import decimal, listed, signed
from gearcalc.fits.by_hand import SHOP_CONSTANT, rule_of_thumb
from gearcalc.lathes import Lathe
from gearcalc.lathes.trains import Train
from gearcalc.learning.exercises.answers import Several, about
from gearcalc.learning.exercises.any_lathe import whose
from gearcalc.learning.exercises.gear_answers import OrderThatPasses, halves_passed, in_a_row
from gearcalc.learning.exercises.notes import Table
from gearcalc.learning.exercises.number_answers import Number
from gearcalc.learning.exercises.tasks import Draw, Task, poses

_GEARS = (20, 24, 25, 28, 30, 32, 35, 36, 40, 45, 48, 50, 55, 60, 65, 70, 72, 75, 80)
_MODULES = (Fraction(1), Fraction(5, 4), Fraction(3, 2), Fraction(2))
_ANGLES = (Fraction(20), Fraction(29, 2))


def _tan(angle: Fraction) -> Fraction:
    return as_fraction(tan(radians(angle)))


@poses("how-far-apart", lesson=7, goal=1, title="How far apart?")
def how_far_apart(draw: Draw) -> Task:
    one, other = draw.sample(_GEARS, 2)
    pitch = draw.choice((0, 0, 16, 20, 24))  # diametral pitch, 0 for a module
    module = INCH_MM / pitch if pitch else draw.choice(_MODULES)
    size = f"{pitch} DP" if pitch else f"module {decimal(module)} mm"
    apart = module * (one + other) / 2
    in_inches, by_pitch = (about(apart / INCH_MM), Fraction(pitch * (one + other), 2)) if pitch else (None, None)
    return Task(
        question=f"""Gears of **{size}**, a **{one}** and a **{other}**, are to mesh. How far apart are their centres,
            in millimetres, when the teeth have no play at all?""",
        answer=Number(apart, "mm", places=2),
        slips={
            """diameters added: You added the diameters. From centre to centre it is one radius and the
            other.""": about(2 * apart),
            """tips for pitch circles: Those are the outside circles. The teeth reach into each other: count from pitch
            circle to pitch circle.""": about(apart + 2 * module),
            """module forgotten: That is half of all the teeth. How much does one tooth add to a pitch diameter, in
            millimetres?""": about(Fraction(one + other, 2)) if module != 1 else None,
            """teeth added: Those are teeth, and all of them. A pitch diameter is module times teeth, and from centre to
            centre it is half of each.""": Fraction(one + other) if module not in (1, 2) else None,
            """the difference: That is where a gear would stand inside a ring. Here both have their teeth
            outside.""": about(module * abs(one - other) / 2),
            "in inches: That is in inches. The question asks for millimetres.": in_inches,
            """DP for the module: DP is teeth to an inch of diameter: the larger it is, the smaller the tooth. The
            module is 25.4 mm over it.""": by_pitch,
        },
        hints=f"""The pitch diameter of a gear is module × teeth.{" The module is 25.4 mm / DP." if pitch else ""}
            The centres are apart by half of one pitch diameter and half of the other.""",
        solution=lambda: (
            *((f"The module is 25.4 / {pitch} = {decimal(module)} mm.",) if pitch else ()),
            f"{decimal(module)} mm × ({one} + {other}) / 2 = **{decimal(apart)} mm**.",
        ),
        right="Only the sum of the teeth counts: any two gears with that sum stand just as far apart.",
    )


@poses("open-the-mesh", lesson=7, goal=3, title="Open the mesh")
def open_the_mesh(draw: Draw) -> Task:
    angle, play = draw.choice(_ANGLES), Fraction(draw.randrange(10, 41), 100)
    other = next(one for one in _ANGLES if one != angle)
    apart = play / (2 * _tan(angle))
    return Task(
        question=f"""Two gears with a pressure angle of **{decimal(angle)}°** stand so near that their teeth touch on
            both flanks. You want **{decimal(play)} mm** of backlash along the pitch circle. By how many millimetres
            must the centres be moved apart?""",
        answer=Number(apart, "mm", places=2),
        slips={
            """backlash for distance: That would be so if the flanks stood square to the line of centres. They slope, so
            it takes another distance.""": play,
            "one flank only: Moving apart opens a gap on both flanks. You counted one.": about(2 * apart),
            """times instead of over: That is the backlash that such a distance would give. Here the backlash is known
            and the distance is wanted.""": about(2 * play * _tan(angle)),
            f"""the other pressure angle: That is for {decimal(other)}°. Which angle do these gears
            have?""": about(play / (2 * _tan(other))),
        },
        hints=f"""Backlash = 2 × tan of the pressure angle × what the centres are moved apart.
            tan {decimal(angle)}° = {decimal(_tan(angle), 4)}. Solve for the distance.""",
        solution=f"{decimal(play)} mm / (2 × {decimal(_tan(angle), 4)}) = **{decimal(apart, 3)} mm**.",
        right="The smaller the pressure angle, the further you have to open the mesh for the same backlash.",
    )


@poses("what-the-strip-leaves", lesson=7, goal=3, title="What the strip leaves")
def what_the_strip_leaves(draw: Draw) -> Task:
    angle, strip = draw.choice(_ANGLES), Fraction(draw.randrange(60, 151, 2), 1000)
    cosine = as_fraction(cos(radians(angle)))
    left, tangent = 2 * strip / cosine, _tan(angle)
    other = next(one for one in _ANGLES if one != angle)
    return Task(
        question=f"""You press two gears of **{decimal(angle)}°** together with a strip of paper **{decimal(strip)} mm**
            thick between the teeth, so that it is pinched on both flanks, and tighten the stud. Then you turn
            the strip out. How much backlash is there along the pitch circle, in millimetres?""",
        answer=Number(left, "mm", places=3),
        slips={
            """the strip once: The strip lies on both flanks of the tooth. Turn the gear to one side: the room of both
            is then on the other.""": strip,
            "one flank: That is the room on one flank. The strip lay on both.": about(strip / cosine),
            """cos forgotten: The strip's thickness is square to the flank. Along the pitch circle the same gap is a
            little longer.""": about(2 * strip),
            """cos the wrong way: Along the pitch circle the gap is longer than square to the flank. Divide by the
            cosine.""": about(2 * strip * cosine),
            f"""the other pressure angle: That is for {decimal(other)}°. Which angle do these gears
            have?""": about(2 * strip / as_fraction(cos(radians(other)))),
            """tan for cos: The tangent belongs to a distance between the centres. The strip lies square to the flank:
            it takes the cosine.""": [about(2 * strip * by) for by in (tangent, 1 / tangent, tangent * cosine)],
            """the distance: That is by how much the strip holds the centres apart. The play of the teeth is asked
            for.""": about(left / (2 * tangent)),
        },
        hints=f"""How many thicknesses of paper lie between a tooth and its two neighbours?
            Square to the flank that is the gap. Along the pitch circle divide by the cosine of the pressure angle.
            cos {decimal(angle)}° = {decimal(cosine, 4)}.""",
        solution=f"""Square to the flank there are 2 × {decimal(strip)} mm = {decimal(2 * strip)} mm.
            Over cos {decimal(angle)}° = {decimal(cosine, 4)} that is **{decimal(left, 5)} mm**.""",
        right="A strip leaves a little more than twice its thickness, because it is pinched twice.",
    )


_RULE = f"""The shop's rule of thumb: the first pair together must have more teeth than the second driver
    + {SHOP_CONSTANT}, and the second pair together more than the first driven + {SHOP_CONSTANT}."""
_ONE_OR_TWO_OF_FOUR = [frozenset(rows) for many in (1, 2) for rows in combinations(range(1, 5), many)]
_ONE_HALF = "One half of the rule is right for all of those. Mind the other half too."


@poses("ask-the-rule", lesson=7, goal=2, title="Ask the rule of thumb")
def ask_the_rule(draw: Draw) -> Task:
    wanted = draw.evenly(_ONE_OR_TWO_OF_FOUR)
    sides = [(draw.sample(_GEARS, 2), draw.sample(_GEARS, 2)) for _ in range(4)]
    draw.only_if(all(set(drivers).isdisjoint(driven) for drivers, driven in sides))
    trains = [Train(*side) for side in sides]
    passing = [train for train in trains if rule_of_thumb(train).passes]
    failing = [train for train in trains if train not in passing]
    draw.only_if(len(passing) == len(wanted))
    trains = [(passing if row in wanted else failing).pop() for row in range(1, 5)]
    # either half alone must let others pass too, and so must the rule without its constant
    good, first_half, second_half, any_more, as_many = by_test = _passing(trains)
    draw.only_if(len(set(by_test[:4])) == 4)
    return Task(
        question=f"{_RULE} Which of these trains pass it in the order in which they stand?",
        table=Table("The trains", "Row | Train", enumerate(trains, 1)),
        answer=Several(good, rows=4),
        slips={
            f"first half only: {_ONE_HALF}": first_half,
            f"second half only: {_ONE_HALF}": second_half,
            f"""without the {SHOP_CONSTANT}: More teeth alone won't do: the shaft is thick, so there must be
            {SHOP_CONSTANT} to spare.""": any_more,
            """as many: One of yours has just as many teeth as the rule names. It asks for more than
            that.""": as_many if as_many != good else None,
        },
        hints="""Two sums for each train: what mesh together, against the gear that sits beside one of them.
            The second driver sits on the stud beside the first pair, the first driven beside the second pair.""",
        solution=lambda: (*(rule_of_thumb(train) for train in trains), f"These pass: **{listed(sorted(good))}**."),
        right=f"""No gear then runs into a neighbour's shaft, if the lathe's own number is {SHOP_CONSTANT} or less. It
            does not say that the train reaches.""",
    )


def _passing(trains: list[Train]) -> tuple[frozenset[int], ...]:
    """Which pass the rule, its first half, its second, the rule without its constant, and that with 'at least'."""
    verdicts = [
        (
            rule_of_thumb(one).passes,
            *halves_passed(one),
            rule_of_thumb(one, 0).passes,
            rule_of_thumb(one, SHOP_CONSTANT - 1).passes,
        )
        for one in trains
    ]
    return tuple(frozenset(n for n, passes in enumerate(column, 1) if passes) for column in zip(*verdicts, strict=True))


@poses("a-rule-of-your-own", lesson=7, goal=2, title="A rule of your own", any_lathe=True)
def a_rule_of_your_own(draw: Draw, lathe: Lathe | None = None) -> Task:
    if lathe is None:
        who, module = "A lathe", draw.choice(_MODULES)
        size, across = f"module {decimal(module)} mm", Fraction(draw.randrange(10, 21, 2))
        thick, in_file, suppose = (
            f"The shafts and the collars of the studs are **{decimal(across)} mm** across",
            None,
            "",
        )
    else:
        who, (module, size), (across, thick) = whose(lathe), _size_of(draw, lathe), _thickest_of(draw, lathe)
        in_file, suppose = (
            Fraction(decimal(lathe.bracket.running_clearance_mm, 3)) if lathe.bracket else None,
            "suppose ",
        )
    clearance = draw.choice((Fraction(1, 2), Fraction(1), Fraction(3, 4)))
    k, of_file = (None if c is None else 2 + (across + 2 * c) / module for c in (clearance, in_file))
    assert k is not None
    return Task(
        question=f"""{who} has gears of **{size}**. {thick}, and {suppose}at least **{decimal(clearance)} mm** must stay
            clear of them. Which k, in teeth, should then stand in this lathe's own rule of thumb in place of the shop's
            {SHOP_CONSTANT}?""",
        answer=Number(k, "teeth", places=1),
        slips={
            f"""the shop's own: {SHOP_CONSTANT} is the shop's number, for no lathe in particular. Work out that of this
            lathe.""": Fraction(SHOP_CONSTANT),
            """the file's clearance: That is with the clearance in the lathe file. The question supposes
            another.""": None if of_file is None or of_file == k else about(of_file),
            """diameter for radius: The shaft is that much across. From its centre only half of that is in the
            way.""": about(2 + 2 * (across + clearance) / module),
            """tips forgotten: The gear beside is larger than its pitch circle: its teeth stand out by one
            module.""": about(k - 2),
            "clearance forgotten: That lets the tips rub on the shaft. Leave the clearance too.": about(
                2 + across / module
            ),
            "half of it: The teeth in the sum count half a module each. So double it.": about(k / 2),
        },
        hints="""Half a module for each tooth of the pair must reach past the gear beside it, and past the shaft.
            The gear beside reaches half a module for each of its teeth, and one module more for the tips.
            So module × k / 2 is one module, half the shaft, and the clearance together.""",
        solution=f"""k = 2 + 2 × (radius of the shaft + clearance) / module
            = 2 + 2 × ({decimal(across / 2)} + {decimal(clearance)}) / {decimal(module, 4)} = **{decimal(k, 2)}**.""",
        right=f"The shop's {SHOP_CONSTANT} is for nobody's lathe in particular. This one is for yours.",
        apart=lathe is None,
    )


def _size_of(draw: Draw, lathe: Lathe) -> tuple[Fraction, str]:
    """The module of a lathe's gears, mm, as it is written, and in words."""
    gears = lathe.gear_set
    draw.needs(lathe.module_mm is not None, "has no size of gear in its file")
    if gears.diametral_pitch is not None:
        pitch = Fraction(decimal(gears.diametral_pitch, 2))
        return INCH_MM / pitch, f"{decimal(pitch)} DP"
    module = Fraction(decimal(gears.module_mm or 1, 4))
    return module, f"module {decimal(module)} mm"


def _thickest_of(draw: Draw, lathe: Lathe) -> tuple[Fraction, str]:
    """How thick is what a gear may stand beside, mm, as it is written, and in words."""
    draw.needs(lathe.bracket is not None, "has no bracket in its file")
    assert lathe.bracket is not None
    across = Fraction(decimal(2 * lathe.bracket.thickest_mm, 2))
    collars = " and the collars of its studs" if lathe.bracket.studs > 1 else ""
    return across, f"Its shafts{collars} are **{decimal(across)} mm** across{', at the thickest' * bool(collars)}"


@poses("does-it-clear", lesson=7, goal=2, title="Does it clear?")
def does_it_clear(draw: Draw) -> Task:
    first, driven, driver, last = draw.sample(_GEARS, 4)
    module, across = draw.choice(_MODULES), draw.randrange(10, 21, 2)
    gap, radius = (module * (driver + last - driven - 2) - across) / 2, Fraction(across, 2)
    draw.only_if(abs(gap) <= 12)
    train = Train((first, driver), (driven, last))
    verdict = "clear" if gap > 0 else "in the way"
    return Task(
        question=f"""The train **{train}** stands in this order: the {driven} and the {driver} share a stud, and the
            {driver} turns the {last} on the last shaft. The gears are of **module {decimal(module)} mm** and the
            last shaft is **{across} mm** across. How many millimetres are between the tips of the {driven}
            and that shaft? Plus when it is clear, minus when it is in the way. Leave the play out.""",
        answer=Number(gap, "mm", places=2),
        slips={
            "wrong sign: The size is right. Is it clear, or is it in the way?": -gap,
            "tips forgotten: The teeth stand out of the pitch circle by one module.": about(gap + module),
            "shaft forgotten: That is up to the centre of the shaft. The shaft has a thickness.": about(gap + radius),
            "diameter for radius: Only half of the shaft lies on this side.": about(gap - radius),
            """the other gear: That is for the other gear of the stud, which meshes. Its neighbour on the stud is asked
            for.""": about(gap + module * (driven - driver) / 2),
        },
        hints=f"""The stud and the last shaft are as far apart as the {driver} and the {last} want.
            Take off how far the {driven} reaches, to its tips, and half of the last shaft.""",
        solution=f"""Stud to last shaft: module × ({driver} + {last}) / 2 = {decimal(module * (driver + last) / 2)} mm.
            The {driven} reaches module × ({driven} / 2 + 1) = {decimal(module * (driven + 2) / 2)} mm.
            The shaft reaches {across // 2} mm.
            What is left: **{signed(gap, 4)} mm**, {verdict}.""",
        right="One subtraction at the bench saves a gear with chewed tips.",
        apart=True,
    )


@poses("an-idler-that-reaches", lesson=7, goal=1, title="An idler that reaches")
def an_idler_that_reaches(draw: Draw) -> Task:
    right = draw.evenly([gear for gear in _GEARS if 20 < gear <= 40])
    one, other, *others = draw.sample([gear for gear in _GEARS if gear != right], 8)
    module, box = draw.choice(_MODULES), sorted((right, *others))
    apart = module * (one + other - 1 + 2 * right) / 2
    counted_once = next((gear for gear in box if module * (one + other + gear) / 2 >= apart), 0)
    draw.only_if(counted_once > 0 and box[0] < right)
    return Task(
        question=f"""A **{one}** on the spindle side is to turn a **{other}** on the last shaft,
            **{decimal(apart)} mm** away from centre to centre. All gears are of **module {decimal(module)} mm**.
            In the box are {in_a_row(box)}. Which is the smallest of them that can reach, as one idler between the
            two? Leave the play out.""",
        answer=Number(Fraction(right), "teeth"),
        slips={
            """counted once: Along the way an idler is crossed from rim to rim: two of its radii, not
            one.""": Fraction(counted_once),
            "not in the box: Take one from the box.": lambda read: read not in box,
            "too short: In one straight row the three gears don't reach.": lambda read: read < right,
            "larger than needed: That reaches, but a smaller one will too.": lambda read: read > right,
        },
        hints="""With the three in one straight row, how far is it from centre to centre?
            Half of the first, the whole idler, half of the last: in modules that many.""",
        solution=f"""Module × (({one} + {other}) / 2 + idler) must be at least {decimal(apart)} mm.
            So the idler has at least {decimal(apart / module - Fraction(one + other, 2), 2)} teeth.
            The smallest in the box is the **{right}**.""",
        right="In a straight row is the limit. A larger idler stands to the side of the line.",
    )


@poses("another-order", lesson=7, goal=2, title="Another order")
def another_order(draw: Draw) -> Task:
    a, b, c, d = draw.sample(_GEARS, 4)
    orders = [Train(over, under) for over in permutations((a, b)) for under in permutations((c, d))]
    passing = [train for train in orders if rule_of_thumb(train).passes]
    failing = [train for train in orders if train not in passing]
    draw.only_if(bool(passing) and bool(failing))
    shown = draw.choice(failing)
    return Task(
        question=f"""{_RULE} The train **{shown}** fails it in this order. Write the same drivers over the same driven
            gears in an order that passes.""",
        answer=OrderThatPasses(shown.ratio, box=shown.gears, pairs=2, given=shown),
        hints="""There are four orders: the drivers may change places, and so may the driven gears.
            Large gears beside a small sum foul. Where would the largest do no harm?""",
        solution=lambda: (*(f"{rule_of_thumb(train)}." for train in passing), f"For example **{passing[0]}**."),
        right="The order changes no ratio, so no thread. It only decides what is beside what.",
    )
