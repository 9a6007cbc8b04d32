"""The mill's ledger as the pages reach it: opened at the first need, closed with the workbench."""

from __future__ import annotations

import time
from contextlib import suppress
from threading import Lock, Thread

from clew.ledger.safekeeping.room_left import RoomLeft, room_left
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.opening import open_ledger, url_of
from clew.ledger.store.trouble import CannotKeep
from clew.mill import mill_file
from clew.web.mill_on_disk import MillOnDisk

LOOK_S = 20.0
"""How often it is looked whether the disk still takes anything [s]."""


class LedgerBeside:
    """The ledger that belongs to a mill on disk.

    Parameters
    ----------
    mill : MillOnDisk
        The mill; where its file says another database, that one is opened from then on.
    """

    def __init__(self, mill: MillOnDisk) -> None:
        self._mill = mill
        self._lock = Lock()
        self._url = ""
        self._open: Ledger | None = None
        self._before: list[Ledger] = []
        self._unopened: CannotKeep | None = None
        self._room: RoomLeft | None = None
        self._looked_s = -LOOK_S
        self._aside: Thread | None = None

    def ledger(self, *, make: bool = True) -> Ledger:
        """Give the ledger, open.

        Parameters
        ----------
        make : bool
            Whether one that is not there yet is made; a page that only reads makes none.

        Returns
        -------
        Ledger
            The same one until the mill file names another.

        Raises
        ------
        BadInput
            When the mill file cannot be used, there is no ledger and none is to be made, or its
            tables are of another version.
        CannotKeep
            When the database does not answer.
        """
        url = self._wanted()
        with self._lock:
            if self._open is not None and url == self._url:
                return self._open
            try:
                opened = open_ledger(url, make=make)
            except CannotKeep as trouble:
                self._unopened = trouble
                raise
            if self._open is not None:  # an answer that is being given may still read it
                self._before.append(self._open)
            self._open, self._url, self._unopened = opened, url, None
            return opened

    def _wanted(self) -> str:
        folder = mill_file(self._mill.folder).parent
        return url_of(folder, self._mill.read().mill.ledger.database)

    def trouble(self) -> str:
        """Say why nothing can be kept just now, in words; empty where nothing is known to be wrong.

        Waits for no database: it is what the last opening, the last write or the last look at the
        disk found.
        """
        found = self._unopened
        if found is None and self._open is not None:
            found = self._open.trouble
            if found is not None:
                self._looked()  # once it is mended that is seen, though nobody dares to write
        if found is not None:
            return found.reason
        room = self._looked()
        return "" if room is None or room.can_keep else room.reason

    def low(self) -> str:
        """Say that the disk is nearly full, in words; empty while there is room."""
        room = self._looked()
        return "" if room is None or not room.can_keep else room.words

    def _looked(self) -> RoomLeft | None:
        """Give what was last seen of the disk; looks again aside, so that no page waits for it."""
        opened, now_s = self._open, time.monotonic()
        if opened is not None and now_s - self._looked_s > LOOK_S:
            self._looked_s = now_s
            aside = Thread(target=self._look, args=(opened,), daemon=True)
            with suppress(RuntimeError):  # threads cannot be begun once the workbench is closed
                aside.start()
                self._aside = aside
        return self._room

    def _look(self, opened: Ledger) -> None:
        before = opened.trouble
        self._room = room_left(opened)
        # a server's disk is not seen from here: there the next write must tell
        if self._room.can_keep and opened.path is not None and opened.trouble is before:
            opened.trouble = None

    def close(self) -> None:
        """Let go of the database."""
        if self._aside is not None:
            self._aside.join(timeout=LOOK_S)
        with self._lock:
            for one in (*self._before, *((self._open,) if self._open is not None else ())):
                one.close()
            self._before, self._open, self._url = [], None, ""
            self._room = None
