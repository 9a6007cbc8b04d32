"""What a target is worked out from, as far as it is said by hand."""

from __future__ import annotations

from dataclasses import dataclass, field

from clew.checks.target.spread import LEVELS, LevelName


@dataclass(frozen=True, slots=True)
class Given:
    """What is said by hand; None where it is left to the balls or the mill file.

    Units stand in the names; `sds` holds estimate and interval of a level's spread [g].
    """

    rules: tuple[str, ...] = ()
    declared: tuple[str, ...] = ()
    lot_size: int | None = None
    sds: dict[LevelName, tuple[float, float, float] | None] = field(
        default_factory=lambda: dict.fromkeys(LEVELS)
    )
    length_sd_m: float | None = None
    balls_per_cone: int | None = None
    winders: int | None = None
    first_balls: int | None = None
    mean_g: float | None = None
    count_tex: float | None = None
    mean_doubt_g: float = 0.0
    regain_weighed: float | None = None
    regain_seen: float | None = None
    regain_seen_sd: float | None = None
    tare_doubt_g: float = 0.0
    scale_doubt_g: float = 0.0
    reel_doubt_m: float = 0.0
    tare_g: float | None = None
    risk: float | None = None
    price_per_kg: float | None = None
    ball_price: float | None = None
    short_price: float | None = None
    balls_a_year: int | None = None
