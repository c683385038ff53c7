"""One statement a quarter on what goes with a region's discomfort: its numbers pass one gate, noted once."""

from dataclasses import dataclass, replace

from etl.release_driver_frame import DriverFrame, RegionData, entered
from etl.release_rows import Job
from etl.release_said import not_again, pass_gate
from models.result_gate import (
    Estimate,
    Gated,
    Ground,
    Question,
    Withheld,
    gate_result,
)

ASKED = "drivers"
NOT_AGAIN = "not shown: "


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
    again : str or None
        Why the region is not stated once more; None where it may be. Nothing passes otherwise.
    first : Gated, Withheld or None
        What became of the first number that passed, or of the last one that did not.
    """

    job: Job
    region: str
    period: str
    used: dict[str, str]
    again: str | None = None
    first: Gated | Withheld | None = None

    @property
    def question(self) -> Question:
        """What the whole statement answers."""
        return Question(f"discomfort/{self.region}", ASKED, self.period)

    def __call__(
        self, asked: str, estimate: Estimate, people: int, residual_df: float, worth: float | None
    ) -> Gated | Withheld:
        """Let one number of the statement through.

        The first that passes was held against all earlier statements and is noted under the name of the
        whole; those after it rest on the same records.
        """
        if self.again is not None:
            return Withheld(self.question, f"{NOT_AGAIN}{self.again}")
        if not isinstance(self.first, Gated):
            question = self.question
            self.first = pass_gate(self.job, question, estimate, (people,), residual_df, self.used, worth)
            return self.first
        question = replace(self.question, asked=f"{ASKED}: {asked}")
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
    gate = RegionGate(job, region, frame.period, entered(found))
    gate.again = not_again(job, gate.question, gate.used)
    return gate
