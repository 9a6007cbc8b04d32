"""Titles and sources of the built-in tables of net content, so that they can be said.

A mill's own copy of the tables may name others; those are printed as they stand there.
"""

from __future__ import annotations

from clew.languages import say
from clew.mill.net_content_tables import Table

_SAID = {
    str(one): one
    for one in (
        say("Category A sampling plans"),
        say("Maximum allowable variation, by weight"),
        say("Maximum allowable variation, by length"),
        say("Average of marked weight or yards"),
        say("Tolerable deficiency T, by mass"),
        say("Tolerable deficiency T, by length"),
        say("Sampling plans for inspection lots of 100 and more"),
        say("Sampling plans for inspection lots below 100"),
        say("Tolerable negative error, by mass"),
        say("Reference test, content of single balls: double plan"),
        say("Reference test, content of single balls: single plan"),
        say("Reference test, content of single balls: destructive plan"),
        say("Reference test, mean of the batch"),
        say("Reference test, mean of the batch, destructive"),
        say("Batches below 100: every ball weighed"),
        say("Marketable value, by mass"),
        say("Normal single plan, balls not destroyed"),
        say("Reduced single plan, balls destroyed"),
        say("Lots of 10 to 99: every ball weighed"),
        say("NIST Handbook 133, Appendix A, Table 2-1"),
        say("NIST Handbook 133, Appendix A, Table 2-5"),
        say("NIST Handbook 133, Appendix A, Table 2-8"),
        say(
            "Mass. G.L. c.94 s.285, s.287; R.I. G.L. 6-10-1 to 6-10-4; Conn. G.S. 43-45; "
            "Alaska 45.75.300"
        ),
        say(
            "OIML R 87, as printed in Australia's National Trade Measurement Regulations 2009, "
            "r. 4.36"
        ),
        say(
            "OIML R 87:2004, as printed in Australia's National Trade Measurement Regulations "
            "2009, r. 4.34"
        ),
        say("New Zealand Weights and Measures Regulations 1999, Schedule 7A, Table 1"),
        say("Directive 76/211/EEC, Annex I 2.4; the same in SI 2006/659"),
        say("Directive 76/211/EEC, Annex II 2.2.1"),
        say("SI 2006/659, Schedule 2, paragraph 3"),
        say("Directive 76/211/EEC, Annex II 2.2.2; SI 2006/659, Schedule 2"),
        say("Directive 76/211/EEC, Annex II 2.3; SI 2006/659, Schedule 2, paragraph 4"),
        say("SI 2006/659, Schedule 2"),
        say("FPackV of 18 November 2020 (Germany), section 9 (3)"),
        say("FPackV of 18 November 2020 (Germany), section 9 (4)"),
        say("FPackV of 18 November 2020 (Germany), Annex 3, 3 a"),
        say("FPackV of 18 November 2020 (Germany), Annex 3, 3 c"),
        say("FPackV of 18 November 2020 (Germany), Annex 3, 3 b, 6 a bb and 7 b"),
    )
}


def title_of(table: Table) -> str:
    """Say the title of a table."""
    return _SAID.get(table.title, table.title)


def source_of(table: Table) -> str:
    """Say where a table stands."""
    return _SAID.get(table.source, table.source)
