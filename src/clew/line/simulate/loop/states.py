"""States, kinds and bounds of the loop, as numbers."""

from __future__ import annotations

import numpy as np

# purposes of chance; those from DOFF_TIME on are services and follow the kinds of call
START, CONE, FEED_BREAK, WIND_BREAK, DOFF_TIME = range(5)
# kinds of call
DOFF, MEND, FEED, LOAD, CHANGE, COLOUR = range(6)
# slots of a lane's calls
AT_WINDER, AT_FEED, AT_CREEL = range(3)
# states of the feed: what it lacks; FULL is booked when the belt stands
WHOLE, FULL, STARVED, BROKEN, COLOURING = range(5)
# states of the winder
WINDING, DRY, CALLED = range(3)
# states of a call
NEW, LISTED, TAKEN = range(3)
# states of a hand
IDLE, SERVING, RESTING = range(3)
# rules
NEAREST, LONGEST, PATROL = range(3)
# ends of a lane
WINDER_END, CREEL_END = range(2)
# what can be wrong with the loop itself
SOUND, RING_FULL, LATE, WITHOUT_END = range(4)
# parts and states of a drawn shift
PART_WINDER, PART_FEED, PART_BELT, PART_HAND = range(4)
ROW_WINDING, ROW_DRY, ROW_WAITS, ROW_SERVED = 0, 1, 10, 20
ROW_IDLE, ROW_WALKS, ROW_SERVES, ROW_RESTS = 0, 1, 10, 2

NEVER = np.inf
CLOSE_S = 1e-9
NEAR_M = 1e-6
CLOSE_M = 1e-6
LATE_S = 1e-5
LEAST_SPOILT_M = 1e-6
WHOLE_ROUNDS = 2.0
MOST_EVENTS = 200_000_000
