"""A short fingerprint of what a card was made from, to match a card at the machine by."""

from __future__ import annotations

import hashlib

from clew.mill.model import Mill

FINGERPRINT_CHARACTERS = 8


def inputs_fingerprint(mill: Mill, ball_name: str, lot_name: str = "", line_name: str = "") -> str:
    """Fingerprint of everything in a mill file that a run card depends on.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name, lot_name, line_name : str
        What the card is for; an empty lot means none, an empty line the only one.

    Returns
    -------
    str
        First eight hexadecimal figures of a SHA-256.

    Raises
    ------
    BadInput
        When a name is not in the mill file.

    Notes
    -----
    Of the mill file only the ball, its yarn and blend, the dye lot with its colour's name, the
    line, the mill's name and its own rules count: a new price or another order leaves the
    fingerprint as it is. Eight figures tell cards of one mill apart; they are no proof against
    forgery.
    """
    ball = mill.find_ball(ball_name)
    yarn = mill.find_yarn(ball.yarn)
    parts = [
        mill.mill.name,
        ball.model_dump_json(),
        yarn.model_dump_json(),
        mill.find_blend(yarn.blend).model_dump_json(),
        mill.find_line(line_name).model_dump_json(),
        mill.safety.model_dump_json(),
    ]
    if lot_name:
        colour, dye_lot = mill.find_dye_lot(lot_name)
        parts += [colour.name, dye_lot.model_dump_json()]
    digest = hashlib.sha256("\n".join(parts).encode("utf-8")).hexdigest()
    return digest[:FINGERPRINT_CHARACTERS]
