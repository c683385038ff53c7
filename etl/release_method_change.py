"""What the statement on a change rests on."""

from etl.release_method import OWN, PUBLISHED, Method
from models.change_design import CHOSEN, COMMON_START, ONE_SERIES, STAGGERED, WORDS
from models.result_gate import LEAST_RESIDUAL_DF, MOST_POINTS

CHANGE_METHODS: tuple[Method, ...] = (
    Method(
        "change.method",
        "How a change is judged",
        "The method follows from the design, before any result is seen. One start for all changed teams: "
        f"{WORDS[COMMON_START]}. {WORDS[STAGGERED]}. {WORDS[CHOSEN]}. {WORDS[ONE_SERIES]}. Only who answered "
        "before and after on the same team counts where teams start together.",
        "Knapp G, Hartung J 2003, Stat Med 22:2693; Borusyak K, Jaravel X, Spiess J 2024, Rev Econ Stud "
        "91:3253; Turner SL et al. 2021, BMC Med Res Methodol 21:181",
        PUBLISHED,
    ),
    Method(
        "change.reach",
        "What a design can show",
        "The smallest p is one over the ways in which the change could have been given to the teams. Above "
        "0.05 the verdict is cannot tell, whatever the numbers say: one team can move by chance.",
        "randomisation tests (Fisher RA 1935, The Design of Experiments, from memory)",
        PUBLISHED,
    ),
    Method(
        "change.verdict",
        "The verdict in words",
        "Helped: the 95 % interval lies below 0 and the estimate is 5 points or more. Worse: the other way "
        "round. No clear change: 5 points are ruled out either way, or the estimate is smaller than that. "
        "Cannot tell: the rest. By simulation without effect, 8 teams of 5 to 40 people, 3 to 6 of 100 "
        "intervals leave 0 out; the factor of Knapp and Hartung is held at 0.6 for that.",
        "this project",
        OWN,
    ),
    Method(
        "plan.reach",
        "What a plan can find",
        "Once a quarter the variance of this site's answers is learnt (people's lasting and wandering "
        "differences, "
        "answering, leaving, teams' common movements) and rounded; from the rounded numbers worlds with a "
        "known fall "
        "are drawn and judged as a change would be. Shown is the smallest fall found in four of five "
        "worlds, rounded "
        "up to whole points. Teams and order are drawn by lot with a seed on record.",
        "this project; power of cluster trials after Donner A, Klar N 2000 and Hussey MA, Hughes JP 2007, "
        "Contemp Clin "
        "Trials 28:182",
        OWN,
    ),
    Method(
        "change.privacy",
        "When a change is stated",
        "Once, when its last team has had it for six whole months (twelve without other teams), with "
        f"{{p.health_floor_month}} people or more on either side and {LEAST_RESIDUAL_DF} degrees of "
        "freedom left. The step is no finer than what one person can move: 5 points from 20 people a side, "
        f"2 from 50, 1 from 100; limits outward, words from the numbers shown. Beyond {MOST_POINTS} points, "
        "or from nearly the same answers as an earlier statement, nothing is shown.",
        "this project",
        OWN,
    ),
)
"""In the order in which they are shown."""
