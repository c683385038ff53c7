"""Contracts of what people report and what the institute does: surveys, changes, hours and cases."""

from etl.contracts.codelists import (
    CHANGE_ALLOCATIONS,
    CHANGE_KINDS,
    CHANGE_STATUS,
    CONTROL_LEVELS,
    HALF_MARKED,
    QUESTIONNAIRES,
    REGIONS,
    SCALES,
    SIDES,
    SURVEY_MODES,
    UNSTATED,
)
from etl.contracts.model import Contract, Field, Span
from etl.contracts.places import TEAM
from etl.contracts.work import PERSON

SURVEYS = Contract(
    name="surveys",
    title="Discomfort surveys",
    description="One row a person, month, body region, side and scale. An empty score means asked, not "
    "answered.",
    key=("person", "month", "region", "side", "scale"),
    fields=(
        PERSON,
        Field(name="month", kind="month", required=True, description="Month the answer is about."),
        Field(name="region", kind="choice", choices=REGIONS, required=True, description="Body region."),
        Field(
            name="side", kind="choice", choices=SIDES, required=True, default="NONE",
            description="Side of the body; NONE where the region has no side.",
        ),
        Field(
            name="score", kind="mark", minimum=0, maximum=10, halves_where=("scale", *HALF_MARKED),
            description="Discomfort, 0 none to 10 worst, in whole marks or, on the category-ratio scale, in "
            "halves (0, 0.5, 1, ...); empty where not answered.",
        ),
        Field(name="hindered", kind="boolean", description="Whether it hindered work or leisure."),
        Field(
            name="scale", kind="choice", choices=SCALES, required=True, default="NRS_0_10",
            description="Scale of the score.",
        ),
        Field(
            name="questionnaire", kind="choice", choices=QUESTIONNAIRES, required=True,
            default="MONTHLY_RATING", description="Questionnaire asked.",
        ),
        Field(name="version", kind="code", required=True, default="1", description="Its version."),
        Field(
            name="mode", kind="choice", choices=SURVEY_MODES, required=True, default=UNSTATED,
            description="How it was asked: focused surveys find more than periodic health checks.",
        ),
        Field(name="trouble_7d", kind="boolean", description="Trouble at any time in the last 7 days."),
        Field(name="trouble_12m", kind="boolean", description="Trouble at any time in the last 12 months."),
        Field(
            name="hindered_12m", kind="boolean",
            description="Prevented from normal activity at any time in the last 12 months.",
        ),
        Field(
            name="longest_days", kind="integer", minimum=0, maximum=3660,
            description="Longest episode in days; for the surveillance definition.",
        ),
        Field(name="monthly", kind="boolean", description="At least once a month in the past year."),
        Field(
            name="severity", kind="integer", minimum=1, maximum=5,
            description="Strength of the usual episode, 1 none, 3 moderate, 5 worst.",
        ),
        Field(name="since_job", kind="boolean", description="Began after starting this job."),
        Field(name="acute_injury", kind="boolean", description="Acute injury of the site before."),
    ),
)  # fmt: skip

CHANGES = Contract(
    name="changes",
    title="Changes made",
    description="One row a change planned or made for one team.",
    key=("change",),
    spans=(Span(start="planned", end="completed"), Span(start="started", end="completed")),
    fields=(
        Field(name="change", kind="code", required=True, description="Short code of the change."),
        Field(name="title", kind="text", required=True, max_length=120, description="What is done."),
        Field(name="kind", kind="choice", choices=CHANGE_KINDS, required=True, description="Kind of change."),
        Field(
            name="control_level", kind="choice", choices=CONTROL_LEVELS, required=True,
            description="Level in the hierarchy of controls.",
        ),
        TEAM,
        Field(name="planned", kind="date", may_be_future=True, description="Day planned."),
        Field(name="started", kind="date", may_be_future=True, description="Day the work on it began."),
        Field(name="completed", kind="date", may_be_future=True, description="Day it was in place."),
        Field(name="why", kind="text", required=True, max_length=300, description="Why here and now."),
        Field(
            name="chosen_on_outcome", kind="boolean", required=True,
            description="Whether the team was chosen because its discomfort was high.",
        ),
        Field(
            name="allocation", kind="choice", choices=CHANGE_ALLOCATIONS,
            description="How it was decided which teams, or in which order: CHOICE by judgement, LOT_TEAMS "
            "the teams by lot, LOT_ORDER the order of the starts by lot; empty where not known.",
        ),
        Field(
            name="lot", kind="text", max_length=80,
            description="Where the lot is on record: the code of a kept plan, or its seed.",
        ),
        Field(
            name="target_regions", kind="codes", choices=REGIONS,
            description="Body regions it should ease, separated by a semicolon.",
        ),
        Field(
            name="expected_points", kind="decimal", minimum=-100, maximum=100,
            description="Expected fall of prevalence in percentage points.",
        ),
        Field(
            name="adherence_percent", kind="decimal", minimum=0, maximum=100,
            description="Share of the team that works the new way.",
        ),
        Field(name="cost", kind="decimal", minimum=0, maximum=1e9, description="Cost in local currency."),
        Field(name="owner_role", kind="text", required=True, max_length=80, description="Role that owns it."),
        Field(name="status", kind="choice", choices=CHANGE_STATUS, required=True, description="State."),
    ),
)  # fmt: skip

HOURS = Contract(
    name="hours",
    title="Hours worked and recorded cases",
    description="One row a team and month.",
    key=("team", "month"),
    fields=(
        TEAM,
        Field(name="month", kind="month", required=True, description="Month worked."),
        Field(
            name="hours_worked", kind="quantity", dimension="duration", unit="h", store_unit="h",
            required=True, minimum=0, maximum=1_000_000, description="Hours worked by the whole team.",
        ),
        Field(
            name="recordable_cases", kind="integer", required=True, minimum=0, maximum=1_000,
            description="Recordable cases that month.",
        ),
        Field(
            name="lost_time_cases", kind="integer", required=True, minimum=0, maximum=1_000,
            description="Cases with days away from work.",
        ),
    ),
    spans=(Span(start="lost_time_cases", end="recordable_cases"),),
)  # fmt: skip
