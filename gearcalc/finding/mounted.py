"""What stands on a lathe, or is to go on it, as it is handed over: a setup made for that lathe, or a train."""

from __future__ import annotations

from typing import TypeAlias

from attrs import evolve

from gearcalc.basics import writing
from gearcalc.basics.errors import GearNotOwnedError, NotPossibleError, ValueOutOfRangeError
from gearcalc.finding.setups import Setup, as_setup, fit_if_any, setup
from gearcalc.fits import Fit, as_train
from gearcalc.lathes import Lathe, differences
from gearcalc.lathes.pieces import plain
from gearcalc.lathes.readings import if_owned
from gearcalc.lathes.trains import Train, TrainLike
from gearcalc.threads import WantedLike

Mounted: TypeAlias = Setup | TrainLike
"""What stands on a lathe as it may be handed over: a setup, or a train, or its text."""


def own_setup(lathe: Lathe, given: object) -> Setup:
    """The setup itself, where it was made for this lathe, or for one that is the same in all that matters to a setup.

    >>> from gearcalc.finding.setups import setup
    >>> from gearcalc.lathes import demo_lathe
    >>> own_setup(demo_lathe("metric"), setup(demo_lathe("inch"), 40, 80, "low"))
    Traceback (most recent call last):
    gearcalc.basics.errors.NotPossibleError: this setup was made for another lathe than Bench lathe with a metric \
leadscrew, unlike it in leadscrew, gearbox, feed drive, bracket and size of tooth. Ask with its own, setup.lathe, or \
make it again for this one.

    Its gears may be lent or sold since: whether they are owned is not asked here. It is shown as the lathe is.
    Raises ValueOutOfRangeError for what is no setup, NotPossibleError for another lathe's.
    """
    made = as_setup(given)
    if parts := differences(made.lathe, lathe):
        raise NotPossibleError(
            f"this setup was made for another lathe than {lathe.name}, unlike it in {writing.listed(parts)}",
            remedy="Ask with its own, setup.lathe, or make it again for this one.",
        )
    return made if made.lathe.show == lathe.show else evolve(made, lathe=made.lathe.with_show(lathe.units, lathe.paper))


def train_said(lathe: Lathe, given: object) -> Train | None:
    """The train that is said to be on the lathe: of a Setup of this lathe, a Train, or the text of one; None for None.

    >>> from gearcalc.lathes import demo_lathe
    >>> print(train_said(demo_lathe("inch"), "40/80"))
    40/80

    Raises NotPossibleError for the setup of another lathe, and where the gears are there but can't stand so,
    ValueOutOfRangeError for anything else.
    """
    if isinstance(given, Setup):
        return own_setup(lathe, given).train
    if given is None:
        return None
    if isinstance(given, (str, Train)):
        return if_owned(lathe.gear_set, as_train(given))
    raise ValueOutOfRangeError(
        "mounted must be a Setup, a Train or the text of one", value=given, remedy="Write it like '40/80, idler 25'."
    )


def with_the_damaged(lathe: Lathe) -> Lathe:
    """The same with its damaged gears among the others: one that is on may be damaged."""
    more = [evolve(table, damaged=()) for table in lathe.gear_set.more]
    return evolve(lathe, gear_set=evolve(lathe.gear_set, damaged=(), more=more))


def setup_that_turned(lathe: Lathe, train: Train, lever: str | None, wanted: WantedLike | None) -> Setup:
    """As setup(), of gears that turned already: what a damaged one among them did is to be answered all the same.

    >>> from gearcalc.lathes import demo_lathe
    >>> worn = demo_lathe("inch").with_gears(add=52)
    >>> worn = evolve(worn, gear_set=evolve(worn.gear_set, damaged=(52,)))
    >>> print(setup_that_turned(worn, Train(40, 52), "low", None))
    40/52, lever low: lead 20.8 tpi (≈ 1.2212 mm)

    Raises as setup() does.
    """
    try:
        return setup(lathe, train.drivers, train.driven, lever, train.idlers, wanted)
    except (GearNotOwnedError, NotPossibleError):
        made = setup(with_the_damaged(lathe), train.drivers, train.driven, lever, train.idlers, wanted)
        return evolve(made, lathe=lathe, fit=fit_if_any(lathe, made.train, made.position, made.wanted))


def mounted_fit(lathe: Lathe, given: object) -> Fit | None:
    """How what is said to be on the lathe goes on in the order that was said; None where the lathe file can't tell.

    What is on the lathe nobody rearranges. An idler that nobody named is the one that fit() takes, and a damaged gear
    only where no other would do. Raises as train_said() does.
    """
    train = train_said(lathe, given)
    if train is None:
        return None
    if isinstance(given, Setup) and given.fit is not None and given.as_built.train == given.train:
        return given.fit
    lever, wanted = (given.position, given.wanted) if isinstance(given, Setup) else (None, None)
    fit = fit_if_any(lathe, train, lever, wanted, keep_order=True)
    if fit is None or fit.goes_on:
        return fit
    return fit_if_any(with_the_damaged(lathe), train, lever, wanted, keep_order=True)


def train_mounted(lathe: Lathe, given: object) -> Train | None:
    """The train that is on the lathe, with the idlers without which it can't stand there; None for None.

    >>> from gearcalc.lathes import demo_lathe
    >>> print(train_mounted(demo_lathe("inch"), "40/80"))
    40/80, idler 25

    As it is said where it goes on in no way by the lathe file, or the file can't tell: it stands there all the same.
    Raises as train_said() does.
    """
    return train_and_fit(lathe, given)[0]


def train_and_fit(lathe: Lathe, given: object) -> tuple[Train | None, Fit | None]:
    """The same, and how it goes on, as mounted_fit() has it."""
    fit = mounted_fit(lathe, given)
    return (fit.train if fit is not None and fit.goes_on else train_said(lathe, given)), fit


def as_taken(lathe: Lathe, given: Mounted | None) -> Mounted | None:
    """The same, a setup still with its lever, with the idlers without which it can't stand there; None for None.

    Raises as train_said() does.
    """
    train, fit = train_and_fit(lathe, given)
    return train if train is None or not isinstance(given, Setup) else evolve(given, train=train, fit=fit)


def idlers_assumed(lathe: Lathe, given: object) -> str:
    """Which idlers of what is on the lathe nobody named, in a sentence; empty where that is none.

    >>> from gearcalc.lathes import demo_lathe
    >>> print(idlers_assumed(demo_lathe("inch"), "40/80"))
    Of what is mounted idler 25 is assumed: say what is on.

    Raises as train_said() does.
    """
    said, train = train_said(lathe, given), train_mounted(lathe, given)
    if said is None or train is None or train.idler_count <= said.idler_count:
        return ""
    idlers = [str(plain(teeth)) for mesh in train.idlers for teeth in mesh]
    what = f"idler {idlers[0]} is" if len(idlers) == 1 else f"idlers {writing.listed(idlers)} are"
    return f"Of what is mounted {what} assumed: say what is on."
