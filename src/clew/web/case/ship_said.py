"""Packages, lots and deliveries of Case, said in words."""

from __future__ import annotations

from clew.languages import joined, say, say_many
from clew.web.case.ship_page import Delivered, LotLeft, PackageHere, ShipState


def left_words(one: LotLeft) -> str:
    """Say how many balls of a lot are left to case."""
    told = {"line": one.line, "lot": one.lot, "full": one.full, "ball": one.ball_name}
    left = max(one.left, 0)
    if one.full and one.running:
        return say_many(
            "{line}: {n} ball of {lot} left to case; {full} {ball} make a full case, its run goes "
            "on.",
            "{line}: {n} balls of {lot} left to case; {full} {ball} make a full case, its run goes "
            "on.",
            left, **told,
        )  # fmt: skip
    if one.full:
        return say_many(
            "{line}: {n} ball of {lot} left to case; {full} {ball} make a full case.",
            "{line}: {n} balls of {lot} left to case; {full} {ball} make a full case.",
            left, **told,
        )  # fmt: skip
    if one.running:
        return say_many(
            "{line}: {n} ball of {lot} left to case, its run goes on.",
            "{line}: {n} balls of {lot} left to case, its run goes on.",
            left, **told,
        )  # fmt: skip
    return say_many(
        "{line}: {n} ball of {lot} left to case.", "{line}: {n} balls of {lot} left to case.", left,
        **told,
    )  # fmt: skip


def package_words(one: PackageHere) -> str:
    """Say what a package is, and what is in it."""
    what = content_words(one)
    if one.pallet:
        return say_many(
            "pallet, {n} case: {what}", "pallet, {n} cases: {what}", len(one.cases), what=what
        )
    return say("case: {what}", what=what)


def content_words(one: PackageHere) -> str:
    """Say how many balls of what are in a package."""
    names = list(dict.fromkeys(case.ball_name for case in one.cases if case.ball_name))
    return say(
        "{balls} {names} of {lots}",
        balls=one.balls,
        names=joined(", ", names) if names else say("balls"),
        lots=joined(", ", one.lots) if one.lots else say("no lot that was told"),
    )


def held_words(state: ShipState, one: PackageHere) -> list[str]:
    """Say of each lot that may not leave yet what was decided on it."""
    held = state.not_released(one.cases)
    return [say("{lot} is {decided}", lot=lot, decided=decided) for lot, decided in held]


def where_words(one: PackageHere) -> str:
    """Say where a package is."""
    if one.left is None:
        if one.on:
            return say("here, on pallet {pallet}", pallet=one.on)
        return say("here") if one.pallet else say("here, on no pallet")
    told = {
        "delivery": one.left.body.get("delivery") or say("a delivery"),
        "customer": one.left.body.get("customer") or say("a customer"),
    }
    if one.on:
        return say("left with {delivery} to {customer}, on pallet {pallet}", pallet=one.on, **told)
    return say("left with {delivery} to {customer}", **told)


def delivered_words(one: Delivered) -> str:
    """Say where a delivery went, and what came back of it."""
    words = say("to {customer}", customer=one.customer)
    if one.order:
        words = say("to {customer}, order {order}", customer=one.customer, order=one.order)
    if one.back:
        return say(
            "{where}; {back} of {n} came back", where=words, back=one.back, n=len(one.packages)
        )
    return words


def count_packages(count: int) -> str:
    """Count packages."""
    return say_many("{n} package", "{n} packages", count)
