"""One statement a quarter on what goes with a region's discomfort: its numbers pass one gate, noted once."""

from dataclasses import dataclass

from etl.release_driver_frame import DriverFrame, RegionData, entered
from etl.release_rows import Job
from etl.release_said import pass_gate
from models.result_gate import (
    NEARLY_SAID,
    SAID_BEFORE,
    Estimate,
    Gated,
    Ground,
    Question,
    Withheld,
    gate_result,
)

ASKED = "drivers"


@dataclass
class RegionGate:
    """The gate of one region's statement.

    Attributes
    ----------
    job : Job
        Edition in the making.
    region, period : str
        Region, and months judged.
    used : dict of str to str
        How each person enters.
    first : Gated, Withheld or None
        What became of the first number.
    """

    job: Job
    region: str
    period: str
    used: dict[str, str]
    first: Gated | Withheld | None = None

    def __call__(
        self, asked: str, estimate: Estimate, people: int, residual_df: float, worth: float | None
    ) -> Gated | Withheld:
        """Let one number of the statement through.

        The first is held against all earlier statements and noted under the name of the whole; the others
        rest on the same records, and stand or fall with it.
        """
        if self.first is None:
            question = Question(f"discomfort/{self.region}", ASKED, self.period)
            self.first = pass_gate(self.job, question, estimate, (people,), residual_df, self.used, worth)
            return self.first
        if isinstance(self.first, Withheld) and self.first.reason in (SAID_BEFORE, NEARLY_SAID):
            return self.first
        question = Question(f"discomfort/{self.region}", f"{ASKED}: {asked}", self.period)
        floor = self.job.settings.privacy.health_floor_month
        ground = Ground((people,), residual_df, {}, worth)
        return gate_result(question, estimate, ground, (), floor=floor)


def region_gate(job: Job, frame: DriverFrame, found: RegionData, region: str) -> RegionGate:
    """Return the gate of a region's statement.

    Parameters
    ----------
    job : Job
        Edition in the making, in its transaction.
    frame : DriverFrame
        Exposure and answers.
    found : RegionData
        The region's answers.
    region : str
        Region.

    Returns
    -------
    RegionGate
        Nothing is noted yet.
    """
    return RegionGate(job, region, frame.period, entered(found))
