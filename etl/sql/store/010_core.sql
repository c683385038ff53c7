-- output: the tables of the person store's core schema (created once, in one transaction)
-- grain:  see each table
-- time:   BIGINT microseconds UTC for instants, DATE for local days and months
create schema if not exists core;

create table if not exists core.store_version (version integer not null, applied_at timestamp not null);

-- One row a loaded file and contract. `content_checksum` is the sum of row hashes of what the file added.
create table if not exists core.file_ledger (
    file_id integer primary key,
    contract varchar not null,
    source varchar not null,
    profile varchar not null,
    file_name varchar not null,
    file_sha256 varchar not null,
    rows_in bigint not null,
    rows_accepted bigint not null,
    rows_set_aside bigint not null,
    content_checksum varchar not null,
    loaded_at timestamp not null,
    unique (file_sha256, contract)
);

-- One row a reason for which an input row was set aside. `value` is the offending text, cut to 80 characters.
-- `counts_as_row` is true on exactly one of the reasons of a row, so that rows add up.
create table if not exists core.set_aside (
    file_id integer not null,
    row_number bigint not null,
    column_name varchar not null,
    reason varchar not null,
    value varchar,
    counts_as_row boolean not null
);

create table if not exists core.teams (
    file_id integer not null, row_number bigint not null,
    team varchar not null, team_name varchar not null,
    cluster varchar not null, cluster_name varchar not null, site varchar not null
);

-- One row a spell of a person on a team; valid_to is the last day on the team, null while it lasts.
create table if not exists core.people (
    file_id integer not null, row_number bigint not null,
    person varchar not null, team varchar not null,
    valid_from date not null, valid_to date, age_band varchar
);

create table if not exists core.bouts (
    file_id integer not null, row_number bigint not null,
    person varchar not null, start_us bigint not null, end_us bigint not null, tz varchar not null,
    task varchar not null, instrument varchar not null, strokes integer not null,
    tips integer, channels smallint, volume_changes integer, station varchar, hand varchar
);

create table if not exists core.strokes (
    file_id integer not null, row_number bigint not null,
    person varchar not null, at_us bigint not null, tz varchar not null,
    instrument varchar not null, action varchar not null
);

-- Measured forces in whole millinewtons and durations in whole milliseconds; null where nobody measured.
create table if not exists core.instruments (
    file_id integer not null, row_number bigint not null,
    instrument varchar not null, kind varchar not null, channels smallint not null,
    plunger_mn integer, blow_out_mn integer, tip_mount_mn integer, ejection_mn integer,
    volume_change_mn integer, press_ms integer, eject_ms integer, mass_g double, length_mm double
);

create table if not exists core.stations (
    file_id integer not null, row_number bigint not null,
    station varchar not null, team varchar not null, observed_on date not null,
    bench_height_mm double, edge_thickness_mm double, chair_min_mm double, chair_max_mm double,
    foot_support boolean, cut_out boolean, hood_sash_mm double
);

-- One row a person, month, region and side asked about; score null = asked, not answered.
create table if not exists core.surveys (
    file_id integer not null, row_number bigint not null,
    person varchar not null, month date not null, region varchar not null, side varchar not null,
    score smallint, hindered boolean, scale varchar not null
);

create table if not exists core.changes (
    file_id integer not null, row_number bigint not null,
    change varchar not null, title varchar not null, kind varchar not null, control_level varchar not null,
    team varchar not null, planned date, started date, completed date,
    why varchar not null, chosen_on_outcome boolean not null,
    target_regions varchar, expected_points double, adherence_percent double, cost double,
    owner_role varchar not null, status varchar not null
);

-- Hours worked and recorded cases, one row a team and month.
create table if not exists core.hours (
    file_id integer not null, row_number bigint not null,
    team varchar not null, month date not null, hours_worked double not null,
    recordable_cases integer not null, lost_time_cases integer not null
);
