"""What is true and what was planted: everything a test may hold against the tool's answers."""

import json
from pathlib import Path
from typing import Any

import numpy as np

from demo_data import outcomes, symptoms
from demo_data.catalogue import INSTRUMENTS
from demo_data.changes import BOUTS_AVOIDED, GAPS_WIDENED, SWAP_ADHERENCE, Change
from demo_data.dirt import Planted
from demo_data.institute import REGIONS, TASKS, Plan
from demo_data.people import People
from demo_data.registers import change_codes
from demo_data.sheets import Sheet
from demo_data.symptoms import Health, direct_effects, log_odds
from demo_data.work import Dose


def _by_region(values: np.ndarray, digits: int = 4) -> dict[str, float]:
    return {region: round(float(value), digits) for region, value in zip(REGIONS, values, strict=True)}


def effects() -> dict[str, Any]:
    """Return the true model of discomfort.

    Returns
    -------
    dict
        Coefficients of ``logit P(score >= 4)`` by region, and how noise and response work.
    """
    return {
        "case_score": symptoms.CASE,
        "formula": "logit P(score >= 4) = intercept + hours_effect*(h/week - 6)/5"
        " + force_effect*(N - 25)/10 + age + direct effects of changes; a population average",
        "intercept": _by_region(symptoms.INTERCEPT),
        "hours_effect_per_5_h_week": _by_region(symptoms.HOURS_EFFECT),
        "force_effect_per_10_n": _by_region(symptoms.FORCE_EFFECT),
        "age_effect_by_band": symptoms.AGE_EFFECT.tolist(),
        "score_cuts": symptoms.CUTS.tolist(),
        "noise_shares": symptoms.SHARES,
        "persistence_month_to_month": symptoms.PERSISTENCE,
        "recorded_cases": {
            "per_200000_hours_at_6_h_week": outcomes.CASES_PER_200K,
            "log_rise_per_5_h_week": outcomes.CASES_RISE,
        },
    }


def response_model(plan: Plan, health: Health) -> dict[str, Any]:
    """Return how answering works and how often people answered.

    Parameters
    ----------
    plan, health
        The institute and its answers.

    Returns
    -------
    dict
        Base rates, the effect of last month's worst score, and observed rates by team.
    """
    observed = [health.answered[health.team == number].mean() for number in range(len(plan.teams))]
    codes = [team.code for team in plan.teams]
    return {
        "formula": "logit P(answer) = logit(base of team) + habit(sd)"
        " + effect*(worst score of last month - 3)",
        "base": dict(zip(codes, np.round(health.team_rate, 4).tolist(), strict=True)),
        "habit_sd": symptoms.HABIT_SD,
        "effect_per_point": symptoms.SCORE_ON_ANSWER,
        "observed": dict(zip(codes, np.round(observed, 4).tolist(), strict=True)),
        "asked": int((health.team >= 0).sum()),
        "answered": int(health.answered.sum()),
    }


def change_truth(
    plan: Plan, changes: tuple[Change, ...], staff: People, dose: Dose, health: Health
) -> list[dict]:
    """Return each change with its direct and total true effect at its team.

    Parameters
    ----------
    plan, changes, staff, dose, health
        The institute, its changes in order of code, its people, their exposure and health.

    Returns
    -------
    list of dict
        The total compares the true risk of the team's person-months after the change with the risk had no
        change been made anywhere: in log-odds, and in percentage points of prevalence.
    """
    found = []
    direct = direct_effects(changes, health.team)
    with_all = log_odds(dose.hours, dose.force, staff.age, direct)
    without = log_odds(dose.hours_without, dose.force_without, staff.age, 0.0)
    for code, change in zip(change_codes(changes), changes, strict=True):
        entry: dict[str, Any] = {
            "change": code, "kind": change.kind.kind, "team": plan.teams[change.team].code,
            "first_month_in_force": None if change.month is None else str(plan.month_list[change.month]),
            "chosen_on_outcome": change.kind.chosen_on_outcome,
            "direct_log_odds": change.kind.direct, "status": change.kind.status,
        }  # fmt: skip
        if change.month is not None:
            after = (health.team == change.team) & (np.arange(plan.months) >= change.month)
            entry["person_months_after"] = int(after.sum())
            entry["total_log_odds"] = _by_region((with_all - without)[after].mean(0))
            gap = 1 / (1 + np.exp(-with_all[after])) - 1 / (1 + np.exp(-without[after]))
            entry["total_percentage_points"] = _by_region(100 * gap.mean(0), 2)
            entry["hours_per_week"] = round(float(dose.hours[after].mean()), 3)
            entry["hours_per_week_without"] = round(float(dose.hours_without[after].mean()), 3)
            entry["peak_thumb_force_n"] = round(float(np.nanmean(dose.force[after])), 3)
            entry["peak_thumb_force_n_without"] = round(float(np.nanmean(dose.force_without[after])), 3)
        found.append(entry)
    return found


def sheet_counts(sheet: Sheet, planted: Planted) -> dict[str, Any]:
    """Return the counts of one file as a loader must find them.

    Parameters
    ----------
    sheet, planted
        The clean sheet and what was planted in it.

    Returns
    -------
    dict
        Rows are answers in a wide survey.
    """
    set_aside = dict(sorted(planted.reasons.items()))
    accepted = sheet.table.num_rows * sheet.answers - planted.clean_lost + planted.accepted
    return {
        "site": sheet.site, "contract": sheet.contract, "clean_rows": sheet.table.num_rows * sheet.answers,
        "rows_in": accepted + sum(set_aside.values()), "accepted": accepted, "set_aside": set_aside,
        "planted": dict(sorted(planted.kinds.items())), "planted_and_accepted": planted.accepted,
    }  # fmt: skip


def story(plan: Plan, dose: Dose, health: Health) -> dict[str, Any]:
    """Return which team plays which part, and what the parts are made of.

    Parameters
    ----------
    plan, dose, health
        The institute, its exposure and health.

    Returns
    -------
    dict
        Parts, hours a week by team, and the nature of the team that looks worse by chance.
    """
    hours = {
        team.code: round(float(dose.hours[health.team == number].mean()), 2)
        for number, team in enumerate(plan.teams)
    }
    return {
        "parts": {part: list(teams) for part, teams in plan.parts.items()},
        "mean_hours_per_week": hours,
        "chance_team": {
            "team": plan.parts["chance"][0],
            "last_months": symptoms.CHANCE_MONTHS,
            "what": f"the worst of {symptoms.CHANCE_DRAWS} equally likely draws; true risk unchanged",
            "standard_deviations_above_mean_draw": round(health.chance_rank, 3),
        },
        "mechanisms": {
            "CH-01_share_of_manual_bouts_moved": SWAP_ADHERENCE,
            "CH-02_share_of_bouts_avoided": BOUTS_AVOIDED,
            "CH-05_share_of_short_gaps_widened": GAPS_WIDENED,
        },
        "tasks": list(TASKS),
        "true_peak_thumb_force_n": {item.code: round(item.peak_thumb, 3) for item in INSTRUMENTS},
    }


def write_truth(content: dict[str, Any], out: Path) -> Path:
    """Write ``truth/truth.json`` below the output folder.

    Parameters
    ----------
    content : dict
        Everything known.
    out : Path
        Output folder.

    Returns
    -------
    Path
        The file.
    """
    path = out / "truth" / "truth.json"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(content, indent=1, sort_keys=True) + "\n", encoding="utf-8")
    return path
