"""The one detector of direct identifiers: what it must see, and what it must let pass."""

import re
from datetime import UTC, datetime

import duckdb
import pytest
from hypothesis import given
from hypothesis import strategies as st

from etl import identifiers

# RFC 2606 reserves example.org and .invalid; NANPA reserves 555-0100 to 555-0199, Ofcom 020 7946 0000 to
# 0999 and 07700 900000 to 900999 for fiction; E.123 is ITU-T's notation of telephone numbers. 078-05-1120
# is the number a wallet maker once printed, void since; 756.9217.0769.85 is the one of public examples.
HELD = {
    "a@b.ch": "e-mail address",
    "jo@example.org": "e-mail address",
    "Jo Doe <jo.doe@mail.example.org>": "e-mail address",
    "write to jo@host.invalid, please": "e-mail address",
    "+44 20 7946 0958": "phone number",
    "+442079460958": "phone number",
    "+1 (202) 555-0143": "phone number",
    "020 7946 0958": "phone number",
    "07700 900123": "phone number",
    "(020) 7946 0958": "phone number",
    "030/9018 2050": "phone number",
    "202-555-0143": "phone number",
    "(202) 555-0143": "phone number",
    "202.555.0143": "phone number",
    "01.99.00.12.34": "phone number",
    "ring 020 7946 0958 first": "phone number",
    "078-05-1120": "insurance number",
    "756.9217.0769.85": "insurance number",
}
FREE = [
    *("", "a", "NECK", "k1:ABCDEFGHIJKLMNOPQRSTUVWXYZ", "TEAM_01", "P-200 electronic", "E2-013", "00123"),
    *("2026-10-01", "20261001", "01/02/2026", "01.02.2026 08:00:00", "2026-W41", "2026-10-01T08:00:00+02:00"),
    *("2026-10-01 00:00:00.000000", "01/02/2026 - 28/02/2026", "08:00-16:30", "0800 1600", "45321.3333333"),
    *("0.123456789", "+0.123456789", "+1.2345678", "-12.5", "1e-10", "1 234 567", "1'234'567", "2,026,101"),
    *("1234567890", "1767225600000000", "192.168.0.1", "3f2b8c1e-9d47-4a0b-8c55-1e2f3a4b5c6d", "10 @ 5 uL"),
]


@pytest.mark.parametrize(("value", "kind"), HELD.items())
def test_a_value_that_reaches_a_person_is_seen(value: str, kind: str) -> None:
    assert identifiers.value_kind(value) == kind


@pytest.mark.parametrize("value", FREE)
def test_codes_dates_and_numbers_pass(value: str) -> None:
    assert identifiers.value_kind(value) is None


@given(
    st.one_of(
        st.datetimes(datetime(1990, 1, 1), datetime(2060, 1, 1)).map(str),
        st.datetimes(datetime(1990, 1, 1), datetime(2060, 1, 1), timezones=st.just(UTC)).map(str),
        st.datetimes().map(lambda moment: moment.strftime("%d/%m/%Y %H:%M")),
        st.datetimes().map(lambda moment: moment.strftime("%d.%m.%Y %H:%M:%S")),
        st.floats(allow_nan=False).map(repr),
        st.integers(-(10**18), 10**18).map(str),
        st.uuids(version=4).map(lambda number: f"k1:{number.hex.upper()[:26]}"),
    )
)
def test_no_date_number_or_pseudonym_is_taken_for_a_person(value: str) -> None:
    assert identifiers.value_kind(value) is None


def test_duckdb_reads_the_patterns_the_same_way() -> None:
    """The loader runs them inside DuckDB, whose expressions are RE2: an independent engine."""
    con = duckdb.connect()
    for kind, pattern in identifiers.VALUE_PATTERNS.items():
        for value in [*HELD, *FREE]:
            row = con.execute("select regexp_matches(?, ?)", [value, pattern]).fetchone()
            assert row == (re.search(pattern, value) is not None,), (kind, value)
    con.close()


def test_a_staff_number_is_seen_by_the_institutes_own_pattern() -> None:
    pattern = re.compile(r"P[0-9]{5}")
    assert identifiers.value_kind(" P10234 ", pattern) == "staff number"
    assert identifiers.value_kind("P1023", pattern) is None
    assert identifiers.value_kind("P10234") is None
    assert identifiers.value_kind("10", re.compile(r"[0-9]{2}")) == "staff number"


@pytest.mark.parametrize(
    ("header", "kind"),
    [
        *(
            (header, "name of a person")
            for header in ("Name", "NAMES", "First Name", "firstName", "last_name")
        ),
        *(
            (header, "name of a person")
            for header in ("Prénom", "Nachname", "Operator name", "Staff initials")
        ),
        *((header, "e-mail address") for header in ("e-mail", "E_Mail", "email", "Work e-mail address")),
        *((header, "phone number") for header in ("Phone (work)", "tel.", "Mobile no", "cellPhone")),
        *((header, "date of birth") for header in ("DOB", "date of birth", "BirthDate", "born on")),
        *((header, "home address") for header in ("Home address", "Street", "postcode", "ZIP code")),
        *((header, "insurance number") for header in ("SSN", "Passport no", "national-id", "AHV Nr.")),
        *(
            (header, "staff number")
            for header in ("Staff no", "StaffNo", "staff #", "Employee_ID", "badge code")
        ),
        *(
            (header, "staff number")
            for header in ("Personalnummer", "Supervisor staff no", "ＳＴＡＦＦ　ＮＯ")
        ),
    ],
)
def test_a_header_that_announces_a_person_is_seen(header: str, kind: str) -> None:
    assert identifiers.header_kind(header) == kind


@pytest.mark.parametrize(
    "header",
    [
        *(
            "person",
            "team",
            "team_name",
            "Cluster name",
            "site",
            "task",
            "Task name",
            "station",
            "Instrument name",
        ),
        *(
            "start",
            "end",
            "tips",
            "owner_role",
            "title",
            "why",
            "cell line",
            "mobile phase",
            "hours_worked",
            "no",
        ),
        *("bench_height_mm", "score", "region", "recordable_cases", "id", "code", "", "!"),
    ],
)
def test_a_header_that_names_a_thing_passes(header: str) -> None:
    assert identifiers.header_kind(header) is None


def test_findings_tell_column_kind_and_row_but_not_the_value() -> None:
    (found,) = identifiers.header_findings(["team", "Surname", "task"])
    assert str(found) == "column 'Surname' looks like a name of a person (its header)"
    told = str(identifiers.Finding("note", "phone number", 7))
    assert told == "column 'note' looks like a phone number (row 7)"
