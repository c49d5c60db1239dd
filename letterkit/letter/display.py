"""How identity, dates and addresses are displayed, after the NHS Common User Interface standards (confirmed).

Doctor's letter: `DD-Mmm-YYYY` where a date identifies (D+Ta-0002 to 0010), the long form in prose. Names as
`FAMILY, Given (Title)` (NID-0001 to 0008). Labels without a colon (PAB-0033 to 0050). English months in any locale.
"""

from __future__ import annotations

from datetime import date

from letterkit.findings.identifiers import nhs_number_display
from letterkit.findings.models import Address, HumanName, Identifier, Patient
from letterkit.prose.words import MONTHS

_GENDERS = {"male": "Male", "female": "Female", "other": "Not specified", "unknown": "Not Known"}
NO_BREAK = "\u00a0"


def short_date(day: date) -> str:
    """14-Mar-1961: where a date identifies or affects treatment."""
    return f"{day.day:02d}-{MONTHS[day.month - 1][:3]}-{day.year}"


def age_on(day: date, birth: date) -> int:
    """Completed years on a day."""
    return day.year - birth.year - ((day.month, day.day) < (birth.month, birth.day))


def display_name(name: HumanName) -> str:
    """SMITH, John (Mr); the whole text where the parts are not known."""
    if not name.family:
        return name.text or ""
    given = " ".join(name.given)
    text = f"{name.family.upper()}, {given}" if given else name.family.upper()
    return f"{text} ({' '.join(name.prefix).rstrip('.')})" if name.prefix else text


def spoken_name(name: HumanName) -> str:
    """Mr John Smith."""
    if not name.family:
        return name.text or ""
    return " ".join([*name.prefix, *name.given, name.family])


def address_lines(address: Address | None) -> tuple[str, ...]:
    """An address down the page, the postcode in capitals."""
    if address is None:
        return ()
    last = address.postal_code.upper() if address.postal_code else None
    return tuple(line for line in (*address.line, address.city, address.district, last, address.country) if line)


def address_line(address: Address) -> str:
    """An address on one line."""
    return ", ".join(address_lines(address))


def display_identifier(identifier: Identifier) -> str:
    """An identifier with its label: the NHS number in 3-3-4, others with who assigned them."""
    if identifier.is_nhs_number:
        return f"NHS{NO_BREAK}No. {nhs_number_display(identifier.value)}"
    label = identifier.assigner or identifier.system
    return f"{label} {identifier.value}" if label else f"Reference {identifier.value}"


def banner(patient: Patient, on: date | None) -> str:
    """Name, date of birth with age, gender and identifiers on one line, in the order of the banner standard."""
    parts = [display_name(patient.name)]
    if patient.birth_date:
        age = f" ({age_on(on, patient.birth_date)}y)" if on else ""
        parts.append(f"Born {short_date(patient.birth_date)}{age}")
    else:
        parts.append("Born Not Known")
    parts.append(f"Gender {_GENDERS[patient.gender or 'unknown']}")
    nhs = [each for each in patient.identifier if each.is_nhs_number]
    parts += [display_identifier(each) for each in nhs] or [f"NHS{NO_BREAK}No. Not Known"]
    parts += [display_identifier(each) for each in patient.identifier if not each.is_nhs_number]
    return "  ".join(part.replace(" ", NO_BREAK) if part.startswith(("Born", "Gender")) else part for part in parts)
