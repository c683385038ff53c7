"""What the statements on what goes with discomfort rest on."""

from etl.release_method import OWN, PUBLISHED, Method

DRIVER_METHODS: tuple[Method, ...] = (
    Method(
        "driver.effect",
        "How discomfort goes with exposure",
        "Everybody's answers of all months on the exposure of the same month: a logistic estimating "
        "equation with teams as clusters, corrected for few teams, averaged over those who answered into "
        "points and a ratio for each step. Hours are those per week on the roster; months without logged "
        "work, or with most of the force unmeasured, are left out. Adjusted for age band, trend, season "
        "and the other exposure. Declared beforehand: {v.region} and hours. An association: what else "
        "differs between people is not ruled out.",
        "Liang KY, Zeger SL 1986, Biometrika 73:13; Mancl LA, DeRouen TA 2001, Biometrics 57:126",
        PUBLISHED,
    ),
    Method(
        "driver.other",
        "Other ways to ask the same",
        "New discomfort among those free of it at the answer before (people in pain pipette less, which "
        "hides an association in prevalences), and each worker against themselves (what never changes "
        "about a person cancels out).",
        "Zou G 2004, Am J Epidemiol 159:702; Hausman J, Hall BH, Griliches Z 1984, Econometrica 52:909",
        PUBLISHED,
    ),
    Method(
        "driver.sensitivity",
        "A worker's answers taken together",
        "Odds ratios, beside the main statement and not to be compared with its ratio: answers of a worker "
        "with one correlation (teams not allowed for), and a logistic model with normal intercepts of "
        "workers within teams, whose ratio is given a worker's own level and lies further from 1.",
        "Liang KY, Zeger SL 1986, Biometrika 73:13; Pinheiro JC, Chao EC 2006, J Comput Graph Stat 15:58",
        PUBLISHED,
    ),
    Method(
        "driver.e_value",
        "E-value",
        "How strongly something not measured would have to go with exposure and with discomfort, as a ratio "
        "each, to account for the ratio by itself: RR + sqrt(RR (RR - 1)); the same of the limit nearer to "
        "1. Worked out from the published ratio, for one step more.",
        "VanderWeele TJ, Ding P 2017, Ann Intern Med 167:268",
        PUBLISHED,
    ),
    Method(
        "driver.corrected",
        "Corrected for hours misreported",
        "Random error in hours pulls a ratio towards 1. The published log ratio and its limits are divided "
        "by the published reliability of hours, and by its limits; where there is none by the band assumed. "
        "Logged hours err less than reports, so they lie nearer to the ratio as stated. Error that goes with "
        "discomfort is not corrected; what age, force and calendar tell of hours is left out, which makes "
        "the correction too small.",
        "Carroll RJ et al. 2006, Measurement Error in Nonlinear Models, section 4.2",
        PUBLISHED,
    ),
    Method(
        "driver.together",
        "Regions together",
        "Published ratios of all regions as draws around one mean: each is pulled towards it, the more the "
        "less sure it is. Standard errors come from the published limits; that regions share people is left "
        "out, so the intervals are somewhat too narrow.",
        "Gelman A et al. 2013, Bayesian Data Analysis, section 5.4",
        PUBLISHED,
    ),
    Method(
        "driver.regions",
        "Regions looked at besides",
        "All regions but the declared one are exploratory. Whether one stands out is judged over all of "
        "them, so that at most 1 in 20 of those that do is expected to be there by chance.",
        "Benjamini Y, Hochberg Y 1995, J R Stat Soc B 57:289",
        PUBLISHED,
    ),
    Method(
        "driver.curve",
        "The curve over hours",
        "A line, a spline and lines with one bend, averaged by how well each fits (quasi-AIC), and "
        "averaged over everybody's age, force and month. Drawn from the 5 % of answers with least to the "
        "5 % with most hours, never beyond. The band is the 95 % interval at each point, workers as "
        "clusters.",
        "Burnham KP, Anderson DR 2002, Model Selection and Multimodel Inference; Harrell FE, Regression "
        "Modeling Strategies, chapter 2",
        PUBLISHED,
    ),
    Method(
        "driver.budget",
        "The hours budget",
        "Weekly hours at which the curve has risen by {v.rise_points:g} points above its own floor, the "
        "share at the lowest hours observed, like a benchmark dose; with a one-sided 95 % lower bound. By"
        " simulation the bound lies below the truth in 92 to 97 of 100 samples. Where the curve does not "
        "rise so far within what was observed, it cannot be estimated. It describes; it is no limit of "
        "safety.",
        "Crump KS 1984, Fundam Appl Toxicol 4:854",
        PUBLISHED,
    ),
    Method(
        "driver.share",
        "Share of discomfort above the guide",
        "One less the ratio of the share expected with all hours cut at the guide to the share expected "
        "as it was. It could be prevented only if the assumptions listed hold.",
        "Miettinen OS 1974, Am J Epidemiol 99:325; Bruzzi P et al. 1985, Am J Epidemiol 122:904",
        PUBLISHED,
    ),
    Method(
        "driver.lag",
        "Months back",
        "Odds ratio for hours of the same month and of the six before, all at once, along a curve of "
        "degree 2; only answers with seven months on the roster.",
        "Almon S 1965, Econometrica 33:178; Gasparrini A et al. 2010, Stat Med 29:2224",
        PUBLISHED,
    ),
    Method(
        "driver.prediction",
        "Predicting next quarter",
        "Share of a team's answers with discomfort in the next quarter from this quarter's: penalised "
        "logistic regression and boosting that may only rise with exposure, against the same as last "
        "quarter and against the team's own past. Judged on teams left out and on later quarters. "
        "Importance: how much worse the prediction of later quarters gets when a column is shuffled. "
        "Groups only; nobody is scored.",
        "Breiman L 2001, Mach Learn 45:5 (importance); scikit-learn",
        PUBLISHED,
    ),
    Method(
        "driver.privacy",
        "When and how these are stated",
        "At the close of a quarter, once a calendar year at most, from twelve months of answers on, for the "
        "organisation as a whole, with "
        "{p.health_floor_month} people or more and ten degrees of freedom left. Points to the smallest of"
        " 1, 2 and 5 that one person's answers cannot exceed by design, ratios to a tenth of that, limits"
        " outward; the word is drawn before rounding. Curve and months back, some fifty numbers "
        "at once, from 100 people on. As each covers all months so far, the k-th about the same people takes "
        "100 x k people, or 100 new ones; until then the one before stands. "
        "What is worked out from published numbers tells no more than they do.",
        "this project",
        OWN,
    ),
)
"""In the order in which they are shown."""
