"""Cells as real sheets hold them: the column, what stands in it, and what must become of it.

What must become of it: the states that must be recorded, as "item side state"; REFUSED, with the column named; or NOTHING,
where the cell says nothing of the examination and the row is drafted all the same.
"""

from __future__ import annotations

from typing import Final

REFUSED: Final = "refused"
NOTHING: Final = "nothing"
UNTESTED: Final = "not examined"


def _each(column: str, values: str, expected: str | tuple[str, ...]) -> list[tuple[str, str, str | tuple[str, ...]]]:
    return [(column, value, expected) for value in values.split("|")]


_PHALEN_R = ("phalen_test right positive",)
_PHALEN_NO = ("phalen_test right negative",)
_T = "tinel_carpal_tunnel"

NASTY: list[tuple[str, str, str | tuple[str, ...]]] = [
    # one test, one side: signs, words, case and spaces
    *_each("Phalen R", "+| + |++|+++|+ve|+VE|pos|POS|Pos |positive|yes|Y|TRUE|present", _PHALEN_R),
    *_each("Phalen R", "neg|NEG|-ve|negative| Neg |no|N|absent|nil|FALSE|\u00a0neg\u00a0", _PHALEN_NO),
    *_each("Phalen R", "?|+/-|equivocal|borderline", ("phalen_test right equivocal",)),
    *_each("Phalen R", "|  |N/A|n/a|NA|#N/A|not recorded", NOTHING),
    *_each("Phalen R", "NT|not tested|not done|Not Examined|declined", UNTESTED),
    *_each("Phalen R", '-|–|—|R|L|B/L|R+ L-|maybe later|5|=1+1|=HYPERLINK("x")|0|pos neg|@pos|5/10', REFUSED),
    # no side in the column's name
    *_each("Tinel", "R|R+|R +|R pos|right positive|Rt. pos|pos R|+ R|R: +|R=+", (f"{_T} right positive",)),
    *_each("Tinel", "L|left pos|LEFT +|pos L", (f"{_T} left positive",)),
    *_each("Tinel", "B/L|b/l pos|bilateral|both +|R & L +|Bilat. pos", (f"{_T} right positive", f"{_T} left positive")),
    *_each(
        "Tinel",
        "R+ L-|R+L-|R pos, L neg|L- R+|L neg; R pos|pos R, neg L|R + / L -",
        (f"{_T} right positive", f"{_T} left negative"),
    ),
    *_each("Tinel", "B/L neg|both negative|neg B/L|R- L-", (f"{_T} right negative", f"{_T} left negative")),
    *_each("Tinel", "+|neg|pos|yes|-|R/L|R=L|R+ R-|R+ B/L-|R L|27/26|r+l", REFUSED),
    # power
    *_each("APB R", "5|5/5|M5| 5 |5.0", ("apb_power right 5",)),
    *_each("APB R", "4+|4+/5|M4+|4 +", ("apb_power right 4+",)),
    *_each("APB R", "4-", ("apb_power right 4-",)),
    *_each("APB R", "6|5+|4.5|four|weak|0.5|4/4|-4|4--", REFUSED),
    # measurements
    *_each("Grip R (kg)", "24|24 kg|24kg|24.0| 24 |'24|24 kgs", ("grip_strength right 24",)),
    *_each("Grip R (kg)", "24/26/25|24; 26; 25", ("grip_strength right 25",)),
    *_each("Grip R (kg)", "24,5|55 lb|300|-5|twenty|nan|inf|1e9|24 26|24mmHg|2026-11-05", REFUSED),
    # presence and states
    *_each("Thenar wasting R", "mild|Mild|slight", ("thenar_wasting right present",)),
    *_each("Thenar wasting R", "none|nil|No|absent", ("thenar_wasting right absent",)),
    *_each("Thenar wasting R", "a bit|-|wasted?|++++", REFUSED),
    *_each("Median sensation R", "normal|Normal|intact", ("median_sensation right normal",)),
    *_each("Median sensation R", "reduced| REDUCED ", ("median_sensation right reduced",)),
    *_each("Median sensation R", "tingly|50%|+", REFUSED),
    # dates
    *_each(
        "DOB",
        "1968-02-19|19/02/1968|19.02.1968|19-Feb-1968|19 February 1968|19th Feb 1968|Feb 19, 1968|2/19/1968|1968/02/19|02/02/1968|Mon 19 Feb 1968|1968-02-19 00:00:00",
        NOTHING,
    ),
    *_each(
        "DOB",
        "03/04/1968|4.3.1968|19/02/68|19-Feb-68|31/02/1968|1968|24888|Feb 1968|2068-02-19x|19/Foo/1968|00/00/1968",
        REFUSED,
    ),
    *_each("Date seen", "20/11/2026|20 Nov 2026", NOTHING),
    *_each("Date seen", "11/10/2026|yesterday|20/11/26", REFUSED),
    # names, in any script
    *_each(
        "Surname",
        "O'Brien|O’Brien|D'Arcy-Smith|Nguyễn|Łukasiewicz|Þórsdóttir|Müller|王|Οικονόμου|Жуков|de la Cruz Martínez|Null|True|N'Diaye",
        NOTHING,
    ),
    *_each("Surname", "'Smithers| O'Hara ", NOTHING),
    *_each("Surname", "=Smithers|Smi\x07thers|=cmd", REFUSED),
    *_each("Forename", "-Ottoline|@tto|+44", NOTHING),
    # identifiers, codes
    *_each("NHS no", "9990000123|999-000-0123|999 000 0123 |'9990000123", NOTHING),
    *_each("NHS no", "999 000 0124|99900001|9.99E+09|NHS 999", REFUSED),
    *_each("Sex", "f|Female|FEMALE|woman", NOTHING),
    *_each("Sex", "female?|2", REFUSED),
    *_each("Handedness", "RH|right handed|Left-handed|LHD|R", NOTHING),
    *_each("Handedness", "mostly right", REFUSED),
    *_each("Side", "r|Rt|RIGHT|b/l|L.", NOTHING),
    *_each("Side", "R/L|index", REFUSED),
    *_each("Problem", "Numb hand|numb_hand|Carpal Tunnel", NOTHING),
    *_each("Problem", "numbness all over", REFUSED),
]
