-- output: core.event_log and core.event_bucket, stroke logs that stay where they are
-- grain:  one row a log file that was read in place; one row a file, person, bucket and instrument
-- time:   first_us and last_us, microseconds UTC, of the events in a bucket of width_us
-- Of such a log the store keeps the buckets only. Withdrawal and retention treat them as other rows of persons.
create table if not exists core.event_log (
    file_id integer not null, name varchar not null, mark varchar not null, tz varchar not null,
    width_us bigint not null, events bigint not null
);
create table if not exists core.event_bucket (
    file_id integer not null,
    person varchar not null, bucket bigint not null, instrument varchar not null, tz varchar not null,
    first_us bigint not null, last_us bigint not null,
    events bigint not null, strokes bigint not null, tips bigint not null
);
