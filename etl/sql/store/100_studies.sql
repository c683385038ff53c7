-- output: core.diaries and core.observations, small studies beside the logs
-- grain:  one row a person, month and report; one row a station, walk-through day and posture
-- time:   month as the DATE of its first day; observed_on, local date
create table if not exists core.diaries (
    file_id integer not null, row_number bigint not null,
    person varchar not null, month date not null, report smallint not null, hours_per_week double not null
);
create table if not exists core.observations (
    file_id integer not null, row_number bigint not null,
    station varchar not null, observed_on date not null, posture varchar not null,
    share_percent double not null, watched_h double
);
