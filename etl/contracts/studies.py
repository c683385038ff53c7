"""Contracts of small studies beside the logs: hours as people report them, and what walk-throughs saw."""

from etl.contracts.codelists import POSTURES
from etl.contracts.model import Contract, Field
from etl.contracts.work import PERSON

DIARIES = Contract(
    name="diaries",
    title="Self-reported hours",
    description="One row a person, month and report. Two reports of one month show how steady reports are.",
    key=("person", "month", "report"),
    fields=(
        PERSON,
        Field(name="month", kind="month", required=True, description="Month the report is about."),
        Field(
            name="report", kind="integer", minimum=1, maximum=9, required=True, default="1",
            description="Number of the report of that month.",
        ),
        Field(
            name="hours_per_week", kind="quantity", dimension="duration", unit="h", store_unit="h",
            required=True, minimum=0, maximum=100, description="Pipetting in a usual week of that month.",
        ),
    ),
)  # fmt: skip

OBSERVATIONS = Contract(
    name="observations",
    title="Walk-through observations",
    description="One row a station, walk-through day and posture looked for. No person is named.",
    key=("station", "observed_on", "posture"),
    fields=(
        Field(
            name="station", kind="code", required=True, refers_to="stations.station",
            description="Station code as in the stations file.",
        ),
        Field(name="observed_on", kind="date", required=True, description="Day of the walk-through."),
        Field(
            name="posture", kind="choice", choices=POSTURES, required=True, description="What was looked for."
        ),
        Field(
            name="share_percent", kind="decimal", minimum=0, maximum=100, required=True,
            description="Share of the time watched in which it was seen.",
        ),
        Field(
            name="watched", column="watched_h", kind="quantity", dimension="duration", unit="h",
            store_unit="h", minimum=0, maximum=24, description="Time watched; empty where not noted.",
        ),
    ),
)  # fmt: skip
