-- output: the tables of one release edition (protected group numbers only; no person, no pseudonym)
-- grain:  see each table; every row carries the edition that first published it and is never changed
-- time:   `period` is '2026-10' (month), '2026-Q3' (quarter) or '2026-W41' (ISO week)
-- `reason` is null for a shown number; otherwise the words shown in its place, and the numbers are null.
create table if not exists edition (
    edition integer primary key, period varchar not null, created_at timestamp not null,
    previous_hash varchar not null, content_hash varchar not null, rules varchar not null,
    tool_version varchar not null, note varchar
);
create table if not exists unit (
    edition integer not null, level varchar not null, unit varchar not null, name varchar not null,
    parent varchar, site varchar, people_band varchar not null
);
-- Discomfort at or above the case threshold, one row a unit, period and body region.
create table if not exists health (
    edition integer not null, period varchar not null, period_kind varchar not null,
    level varchar not null, unit varchar not null, region varchar not null,
    n_band varchar, count_rounded integer, percent integer, low integer, high integer, reason varchar
);
-- Who counted as having discomfort in the month released; nothing is compared with months before `comparable_from`
-- (empty: with all). Quarters are counted as their months are.
create table if not exists case_rule (
    edition integer not null, period varchar not null, definition varchar not null, scale varchar not null,
    words varchar not null, comparable_from varchar not null
);
-- Average of the published percentages over the body regions (post-processing of published numbers).
create table if not exists health_average (
    edition integer not null, period varchar not null, period_kind varchar not null,
    level varchar not null, unit varchar not null, regions_shown integer not null,
    percent integer, low integer, high integer, reason varchar
);
-- The smooth line through the published percentages of a unit and region, or of all regions averaged (ALL): its
-- point at the period (post-processing).
create table if not exists smooth (
    edition integer not null, period varchar not null, period_kind varchar not null,
    level varchar not null, unit varchar not null, region varchar not null, percent double not null
);
-- Change of prevalence against the same month a year before, in percentage points.
create table if not exists trend (
    edition integer not null, period varchar not null, compared_with varchar not null,
    level varchar not null, unit varchar not null, region varchar not null,
    points integer, low integer, high integer, word varchar not null, sentence varchar not null
);
create table if not exists response (
    edition integer not null, period varchar not null, period_kind varchar not null,
    level varchar not null, unit varchar not null,
    invited_band varchar, answered_band varchar, percent integer, reason varchar
);
-- Exposure of a unit in a period; `standing` compares `value` with `guide`.
create table if not exists exposure (
    edition integer not null, period varchar not null, period_kind varchar not null,
    level varchar not null, unit varchar not null, measure varchar not null,
    value double, low double, high double, value_unit varchar not null, n_band varchar,
    guide double, standing varchar, method varchar not null, reason varchar
);
-- What the hours of a unit and month are made of: by task, instrument or weekday.
create table if not exists exposure_part (
    edition integer not null, period varchar not null, level varchar not null, unit varchar not null,
    part_kind varchar not null, part varchar not null,
    share_percent integer, hours_per_person_week double, n_band varchar, reason varchar
);
-- Dose figures of a unit and month: strain, hand activity, load, damage. Columns up to `reason` as in `exposure`;
-- `known_percent` is the share of the time whose exertions are known, `basis` the method with its edition, `status`
-- how sure method and guide are.
create table if not exists dose (
    edition integer not null, period varchar not null, period_kind varchar not null,
    level varchar not null, unit varchar not null, measure varchar not null,
    value double, low double, high double, value_unit varchar not null, n_band varchar,
    guide double, standing varchar, method varchar not null, reason varchar,
    known_percent integer, guide_words varchar not null, basis varchar not null, status varchar not null
);
-- Whom each station fits, as seen on the newest walk-through; of benches and published body sizes, of no person here.
create table if not exists station_fit (
    edition integer not null, period varchar not null, team varchar not null, station varchar not null,
    observed_on date not null, bench_height_mm double, standing_women integer, standing_men integer,
    seated_women integer, seated_men integer, either_low integer, either_high integer,
    best_change varchar, best_posture varchar, best_after integer, reason varchar
);
-- How far self-reported hours can be trusted, once a quarter: share of the spread of reports that is true (slope of the
-- log on reports, or intraclass correlation of two reports, or assumed), and how much stronger effects would be.
create table if not exists reliability (
    edition integer not null, period varchar not null, level varchar not null, unit varchar not null,
    way varchar not null, n_band varchar, value double not null, low double not null, high double not null,
    bias_hours double, factor_low double, factor_high double, sentence varchar not null, method varchar not null
);
create table if not exists change (
    edition integer not null, change varchar not null, title varchar not null, kind varchar not null,
    control_level varchar not null, team varchar not null, planned date, started date, completed date,
    why varchar not null, chosen_on_outcome boolean not null, target_regions varchar,
    expected_points double, adherence_percent double, cost double, owner_role varchar not null,
    status varchar not null
);
-- Did the change reach the work? Exposure of the changed teams and of the others, before and after.
create table if not exists change_reach (
    edition integer not null, change varchar not null, side varchar not null, teams varchar not null,
    measure varchar not null, periods varchar not null, value double, low double, high double,
    value_unit varchar not null, n_band varchar, reason varchar
);
create table if not exists case_rate (
    edition integer not null, year integer not null, level varchar not null, unit varchar not null,
    kind varchar not null, hours_worked double, count_rounded integer, rate double, low double, high double,
    reason varchar
);
create table if not exists coverage (
    edition integer not null, period varchar not null, level varchar not null, unit varchar not null,
    people_band varchar, logged_percent integer, force_known_percent integer, reason varchar
);
create table if not exists data_quality (
    edition integer not null, contract varchar not null, files integer not null,
    rows_in bigint not null, rows_accepted bigint not null, rows_set_aside bigint not null
);
create table if not exists set_aside_reason (
    edition integer not null, contract varchar not null, reason varchar not null, rows bigint not null,
    meaning varchar not null, remedy varchar not null
);
create table if not exists method (
    edition integer not null, key varchar not null, title varchar not null, text varchar not null,
    source varchar not null, status varchar not null
);
create table if not exists audit_report (
    edition integer not null, check_name varchar not null, passed boolean, sentence varchar not null,
    detail varchar
);
-- Has a unit worsened against its own past? One row a unit, period and subject (discomfort by region, exposure by
-- measure), made of published numbers only. `word` is flagged, not flagged or too few answers; `reason` says why
-- nothing is judged. Teams' discomfort by quarter only.
create table if not exists flag (
    edition integer not null, period varchar not null, period_kind varchar not null,
    level varchar not null, unit varchar not null, subject varchar not null, topic varchar not null,
    word varchar not null, since varchar, baseline double, now double, score double, decision_limit double,
    reason varchar, sentence varchar not null, look_next varchar not null
);
-- A year's discomfort of each team against the spread of all teams; no order of teams is published.
create table if not exists funnel (
    edition integer not null, year integer not null, level varchar not null, unit varchar not null,
    region varchar not null, percent integer, low integer, high integer, target integer,
    standing varchar not null, sentence varchar not null, reason varchar
);
-- The organisation's prevalence beside the one weighted to everybody asked, and the band if silent people differ.
create table if not exists weighted (
    edition integer not null, period varchar not null, level varchar not null, unit varchar not null,
    region varchar not null, percent integer, weighted_percent integer, low integer, high integer, reason varchar
);
-- Of those who answered anything, how many answered for a region; heads, no answers.
create table if not exists item_response (
    edition integer not null, period varchar not null, level varchar not null, unit varchar not null,
    region varchar not null, percent integer, reason varchar
);
-- The organisation's year beside its counts: new onset, mean change of ratings, ages, who left, and the season.
-- Statements of models on 100 people and more, each made once; a row without numbers says why or is in words only.
create table if not exists year_figure (
    edition integer not null, year integer not null, level varchar not null, unit varchar not null,
    region varchar not null, kind varchar not null, value double, low double, high double,
    value_unit varchar not null, n_band varchar, word varchar not null, sentence varchar not null, reason varchar
);
-- Did a change help? Stated once for each change and target region; words follow the numbers shown.
-- Entries of the register with one title and kind are one change. `word` is helped, no clear change, worse or
-- cannot tell; points are against the comparison, below 0 is less discomfort; a missing limit is none at all.
create table if not exists change_effect (
    edition integer not null, change varchar not null, title varchar not null, region varchar not null,
    changed_teams varchar not null, other_teams integer not null, method varchar not null,
    method_words varchar not null, periods varchar not null, changed_band varchar, others_band varchar,
    word varchar not null, sentence varchar not null, points integer, low integer, high integer,
    meaningful double not null, expected_points double, smallest_p double, checks varchar not null,
    weaker varchar not null, cost varchar not null, settle varchar not null, reason varchar
);
-- What a plan reckons with, learnt once a quarter from the site's own answers; rounded, and all plans are made of
-- the rounded numbers. Lasting: share of what makes people differ that never changes; carried: month-to-month
-- correlation of the rest; team and shock points: spread of teams in the long run and from month to month.
create table if not exists plan_ground (
    edition integer not null, period varchar not null, region varchar not null, months varchar not null,
    people_band varchar, teams integer, percent double, low double, high double, lasting_percent integer,
    carried double, answered_percent integer, leaving_percent integer, team_points double, shock_points double,
    reason varchar
);
-- What each number of teams and months can find: the smallest fall found in four of five drawn worlds, and how often
-- a fall of `fall_points` is found; `points` is null where even the end of all discomfort would not be found.
create table if not exists plan_reach (
    edition integer not null, period varchar not null, region varchar not null, changed integer not null,
    others integer not null, months integer not null, points integer, points_error double,
    fall_points double not null, found_percent integer not null, found_error double not null,
    case_months integer not null, smallest_p double not null, teams_enough boolean not null, sentence varchar not null
);
-- Roll-outs: proposed by the release job once a quarter, or kept by the custodian with the seed of the lot.
create table if not exists plan (
    edition integer not null, plan varchar not null, title varchar not null, status varchar not null,
    drawn_on date not null, region varchar not null, kind varchar not null, seed bigint not null,
    steps integer not null, changed integer not null, others integer not null, months integer not null,
    first_start date not null, fall_points double not null, points integer, points_error double,
    found_percent integer not null, found_error double not null, worlds integer not null,
    smallest_p double not null, case_months integer not null, cost double, case_cost double, case_low double,
    case_high double, cost_words varchar not null, cannot varchar not null
);
create table if not exists plan_start (
    edition integer not null, plan varchar not null, step integer not null, team varchar not null,
    start date not null, follows boolean not null
);
-- What the register said when, one row a version of an entry; and adherence month by month.
create table if not exists change_history (
    edition integer not null, change varchar not null, version integer not null, noted_on date not null,
    action varchar not null, status varchar, planned date, started date, completed date,
    adherence_percent double, allocation varchar, lot varchar
);
create table if not exists change_adherence (
    edition integer not null, change varchar not null, month varchar not null, adherence_percent double not null
);
-- Effects by quarters since the start against the comparison, the last quarter before it being the reference (0).
create table if not exists change_event (
    edition integer not null, change varchar not null, region varchar not null, quarter integer not null,
    points double, low double, high double, changed_band varchar, others_band varchar, reason varchar
);
-- What stands beside a verdict, one row a check; `passed` is null where it could not be made.
create table if not exists change_check (
    edition integer not null, change varchar not null, region varchar not null, place integer not null,
    check_name varchar not null, passed boolean, sentence varchar not null
);
-- What goes with discomfort: associations within the organisation, stated at the close of a quarter, once a calendar year at most.
-- `word` is goes with more, no clear association, goes with less, cannot be estimated, or stated earlier: then `reason`
-- says when it is said again, and no other table has rows of that quarter.
create table if not exists driver_statement (
    edition integer not null, period varchar not null, months varchar not null, region varchar not null,
    label varchar not null, word varchar not null, sentence varchar not null, adjusted varchar not null,
    people_band varchar, teams integer, left_out_percent integer, reason varchar
);
-- `question` is prevalence, new onset, within-worker, correlated answers or random intercepts; ratios of different
-- measures never share a chart. `fdr` says for exploratory regions whether the association stands out among all of them
-- (false discovery rate 5 %).
create table if not exists driver_effect (
    edition integer not null, period varchar not null, region varchar not null, label varchar not null,
    question varchar not null, exposure varchar not null, step double not null, step_unit varchar not null,
    measure varchar not null, ratio double, low double, high double,
    points double, points_low double, points_high double,
    word varchar not null, fdr varchar, sentence varchar not null, method varchar not null, source varchar not null,
    people_band varchar, teams integer, reason varchar
);
-- How far a published prevalence ratio can be trusted, worked out from published numbers. Of an E-value `ratio` is that
-- of the ratio and `low` that of its limit; `reliability` is the share of the spread of hours taken to be true.
create table if not exists driver_trust (
    edition integer not null, period varchar not null, region varchar not null, exposure varchar not null,
    way varchar not null, reliability double, ratio double not null, low double not null, high double,
    sentence varchar not null, method varchar not null
);
-- Expected share with discomfort had everybody this exposure; never beyond what was observed.
create table if not exists driver_curve (
    edition integer not null, period varchar not null, region varchar not null, exposure varchar not null,
    unit varchar not null, kind varchar not null, x double not null, percent integer, low integer, high integer,
    people_band varchar, reason varchar
);
-- Ratio by months back; the row without `lag` is one step more in all of the months.
create table if not exists driver_lag (
    edition integer not null, period varchar not null, region varchar not null, exposure varchar not null,
    step double not null, step_unit varchar not null, measure varchar not null, lag integer,
    ratio double, low double, high double, sentence varchar not null, method varchar not null,
    people_band varchar, reason varchar
);
-- Weekly hours at which expected prevalence has risen by `rise` (`kind` added: points; extra: % of those without).
create table if not exists driver_budget (
    edition integer not null, period varchar not null, region varchar not null, kind varchar not null,
    rise double not null, hours double, low double, floor_percent integer, floor_hours double, reach_hours double,
    averaged varchar not null, sentence varchar not null, people_band varchar, reason varchar
);
-- Share of discomfort that goes with hours above a mark; causal only under `assumptions`.
create table if not exists driver_share (
    edition integer not null, period varchar not null, region varchar not null, above_hours double not null,
    percent integer, low integer, high integer, sentence varchar not null, assumptions varchar not null,
    people_band varchar, reason varchar
);
create table if not exists driver_check (
    edition integer not null, period varchar not null, region varchar not null, check_name varchar not null,
    verdict varchar not null, sentence varchar not null
);
-- How far off the next quarter's group prevalence is predicted where nothing was fitted; points.
create table if not exists driver_prediction (
    edition integer not null, period varchar not null, region varchar not null, scheme varchar not null,
    model varchar not null, error double, gain double, low double, high double, parts integer,
    beats boolean, sentence varchar not null, calibration varchar, reason varchar
);
-- Rise of that error when one column is shuffled; `low` and `high` are the extremes of ten shuffles.
create table if not exists driver_importance (
    edition integer not null, period varchar not null, region varchar not null, feature varchar not null,
    points double not null, low double not null, high double not null
);
-- The declared causal diagram: what is in it, where it is drawn (0 to 1, from the left and from below), and what is
-- done about it; and its arrows. Assumptions, not findings.
create table if not exists driver_node (
    edition integer not null, node varchar not null, words varchar not null, role varchar not null,
    x double not null, y double not null, handled varchar not null
);
create table if not exists driver_arrow (
    edition integer not null, source varchar not null, target varchar not null
);
