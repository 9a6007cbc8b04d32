"""The line in time, compiled: lanes between their calls, hands among the calls.

The lanes meet only at the hands. Between a hand's visits a lane is a fluid line: it is moved in
steps that end where a rate changes, all in closed form, and whole rounds of running dry and
filling again are taken in one step. So the loop over all lanes has two turns for a ball, the call
and the end of the doff.

Everything here works on the records of `records`: a plain field of a record costs no reference
counting, which took three quarters of the time when the fields were arrays.
"""
