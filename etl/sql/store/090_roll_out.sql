-- output: core.plan and core.plan_start, roll-outs planned and kept; core.change_adherence; columns of core.changes
-- grain:  one row a plan; one row a plan and team; one row a change and month
-- time:   kept_at, UTC; first_start and start are first days of a month; month as the DATE of its first day
create table core.plan (
    plan varchar primary key, title varchar not null, kept_at timestamp not null, region varchar not null,
    kind varchar not null, seed bigint not null, steps integer not null, changed integer not null,
    others integer not null, months integer not null, first_start date not null, fall_points double not null,
    points double, points_error double, found_percent double not null, found_error double not null,
    worlds integer not null, smallest_p double not null, case_months double not null,
    cost double, case_cost double, case_low double, case_high double, cannot varchar not null
);
create table core.plan_start (
    plan varchar not null, team varchar not null, step integer not null, start date not null,
    follows boolean not null
);
-- Share of the team that works the new way, month by month; a later note of the same month stands.
create table core.change_adherence (
    change varchar not null, month date not null, adherence_percent double not null, noted_at timestamp not null
);
-- How teams or their order came about, and the plan or place where a lot is on record; null in older files.
alter table core.changes add column allocation varchar;
alter table core.changes add column lot varchar;
