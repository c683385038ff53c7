"""Contracts of the registers: teams, people and team spells, instruments, stations."""

from etl.contracts.codelists import AGE_BANDS, INSTRUMENT_KINDS
from etl.contracts.model import Contract, Field, Span

TEAM = Field(
    name="team",
    kind="code",
    required=True,
    refers_to="teams.team",
    description="Team code as in the teams file.",
)

TEAMS = Contract(
    name="teams",
    title="Teams",
    description="One row a team, with the cluster and site it belongs to.",
    key=("team",),
    fields=(
        Field(name="team", kind="code", required=True, description="Short code of the team."),
        Field(name="team_name", kind="text", required=True, max_length=80, description="Name readers see."),
        Field(name="cluster", kind="code", required=True, description="Code of the group of teams."),
        Field(
            name="cluster_name", kind="text", required=True, max_length=80, description="Name readers see."
        ),
        Field(name="site", kind="code", required=True, description="Code of the building or town."),
    ),
)

PEOPLE = Contract(
    name="people",
    title="People and team spells",
    description="One row a spell of a person on a team. A person who changes team has several rows.",
    key=("person", "valid_from"),
    spans=(Span(start="valid_from", end="valid_to"),),
    fields=(
        Field(name="person", kind="person", required=True, description="Pseudonym; never a name or e-mail."),
        TEAM,
        Field(
            name="valid_from", kind="date", required=True, may_be_future=True,
            description="First day on the team.",
        ),
        Field(
            name="valid_to", kind="date", may_be_future=True,
            description="Last day on the team; empty while it lasts.",
        ),
        Field(
            name="age_band", kind="choice", choices=AGE_BANDS,
            description="Optional age band, used at organisation level only.",
        ),
    ),
)  # fmt: skip


def _force(name: str, column: str, what: str) -> Field:
    return Field(
        name=name, column=column, kind="quantity", dimension="force", unit="N", store_unit="mN", whole=True,
        minimum=0, maximum=200, description=f"Measured force {what}; empty where nobody measured.",
    )  # fmt: skip


def _duration(name: str, column: str, what: str) -> Field:
    return Field(
        name=name, column=column, kind="quantity", dimension="duration", unit="s", store_unit="ms",
        whole=True, minimum=0, maximum=10,
        description=f"Measured duration of {what}; empty where nobody measured.",
    )  # fmt: skip


INSTRUMENTS = Contract(
    name="instruments",
    title="Instruments",
    description="One row an instrument model in use, with the forces measured on it.",
    key=("instrument",),
    fields=(
        Field(name="instrument", kind="code", required=True, description="Short code of the instrument."),
        Field(name="kind", kind="choice", choices=INSTRUMENT_KINDS, required=True, description="Drive."),
        Field(name="channels", kind="integer", required=True, minimum=1, maximum=1536, description="Tips."),
        _force("plunger_force", "plunger_mn", "to press the plunger to its first stop"),
        _force("blow_out_force", "blow_out_mn", "to press the plunger to its second stop"),
        _force("tip_mount_force", "tip_mount_mn", "to mount a tip"),
        _force("ejection_force", "ejection_mn", "to eject a tip"),
        _force("volume_change_force", "volume_change_mn", "to turn or press the volume setting"),
        _duration("press_duration", "press_ms", "one plunger press"),
        _duration("eject_duration", "eject_ms", "one tip ejection"),
        Field(
            name="mass", column="mass_g", kind="quantity", dimension="mass", unit="g", store_unit="g",
            minimum=1, maximum=100_000, description="Mass without a tip.",
        ),
        Field(
            name="length", column="length_mm", kind="quantity", dimension="length", unit="mm",
            store_unit="mm", minimum=10, maximum=5_000, description="Length without a tip.",
        ),
    ),
)  # fmt: skip


def _height(name: str, what: str, low: float, high: float) -> Field:
    return Field(
        name=name, column=f"{name}_mm", kind="quantity", dimension="length", unit="mm", store_unit="mm",
        minimum=low, maximum=high, description=what,
    )  # fmt: skip


STATIONS = Contract(
    name="stations",
    title="Stations",
    description="One row a work station and walk-through day.",
    key=("station", "observed_on"),
    spans=(Span(start="chair_min", end="chair_max"),),
    fields=(
        Field(name="station", kind="code", required=True, description="Short code of the bench or hood."),
        TEAM,
        Field(name="observed_on", kind="date", required=True, description="Day of the walk-through."),
        _height("bench_height", "Height of the work surface above the floor.", 300, 1_600),
        _height("edge_thickness", "Thickness of the front edge.", 1, 400),
        _height("chair_min", "Lowest seat height.", 200, 1_200),
        _height("chair_max", "Highest seat height.", 200, 1_200),
        Field(name="foot_support", kind="boolean", description="Whether a foot rest or ring is there."),
        Field(name="cut_out", kind="boolean", description="Whether the bench has a cut-out for the legs."),
        _height("hood_sash", "Height of the sash opening of a hood.", 0, 1_500),
    ),
)
