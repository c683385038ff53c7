"""Contracts of the work logged: task bouts and single stroke events."""

from etl.contracts.codelists import HANDS, STROKE_ACTIONS
from etl.contracts.model import Contract, Field, Span

PERSON = Field(
    name="person", kind="person", required=True, refers_to="people.person",
    description="Pseudonym as in the people file.",
)  # fmt: skip
INSTRUMENT = Field(
    name="instrument", kind="code", required=True, refers_to="instruments.instrument",
    description="Instrument code as in the instruments file.",
)  # fmt: skip
LONGEST_BOUT_US = 16 * 3_600_000_000

BOUTS = Contract(
    name="bouts",
    title="Task bouts",
    description="One row a stretch of one task by one person with one instrument.",
    key=("person", "start"),
    spans=(Span(start="start", end="end", max_us=LONGEST_BOUT_US, may_be_empty=False),),
    max_rows=50_000_000,
    fields=(
        PERSON,
        Field(name="start", column="start_us", kind="instant", required=True, description="When it began."),
        Field(name="end", column="end_us", kind="instant", required=True, description="When it ended."),
        Field(name="task", kind="code", required=True, description="Short code of the task."),
        INSTRUMENT,
        Field(
            name="strokes", kind="integer", required=True, minimum=0, maximum=200_000,
            description="Plunger strokes in the bout.",
        ),
        Field(name="tips", kind="integer", minimum=0, maximum=200_000, description="Tips used."),
        Field(name="channels", kind="integer", minimum=1, maximum=1536, description="Channels used."),
        Field(
            name="volume_changes", kind="integer", minimum=0, maximum=100_000,
            description="Times the volume was set anew.",
        ),
        Field(name="station", kind="code", description="Station code, where logged."),
        Field(name="hand", kind="choice", choices=HANDS, description="Hand that held the instrument."),
    ),
)  # fmt: skip

STROKES = Contract(
    name="strokes",
    title="Stroke events",
    description="One row an action logged by an instrument.",
    key=("person", "at", "instrument", "action"),
    max_rows=200_000_000,
    fields=(
        PERSON,
        Field(name="at", column="at_us", kind="instant", required=True, description="When it happened."),
        INSTRUMENT,
        Field(
            name="action", kind="choice", choices=STROKE_ACTIONS, required=True, description="What was done."
        ),
    ),
)
