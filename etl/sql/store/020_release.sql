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
-- Average of the published percentages over the body regions (post-processing of published numbers).
create table if not exists health_average (
    edition integer not null, period varchar not null, period_kind varchar not null,
    level varchar not null, unit varchar not null, regions_shown integer not null,
    percent integer, low integer, high integer, reason varchar
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
