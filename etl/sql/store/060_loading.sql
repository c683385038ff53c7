-- output: schema loading, what a load must remember of rows that are not, or no longer, in the core tables
-- grain:  see each table
-- time:   local dates, microseconds UTC
-- Without this memory it would depend on the order of files which rows are set aside. Withdrawal and retention
-- find these tables by their column `person`.
create schema if not exists loading;

-- One row a person and local day with more than 24 h of bouts; `file_id` is the file that showed it.
create table if not exists loading.overfull_day (
    file_id integer not null, person varchar not null, local_date date not null
);
-- One row a bout set aside as E_CONFLICT: it still counts in the hours of its day.
create table if not exists loading.contested_bout (
    file_id integer not null, person varchar not null, start_us bigint not null, end_us bigint not null,
    tz varchar not null
);
-- One row a team spell set aside as E_CONFLICT or E_TWOTEAMS: later spells are still held against it.
create table if not exists loading.left_spell (
    file_id integer not null, person varchar not null, team varchar not null,
    valid_from date not null, valid_to date
);
-- One row a warning about accepted rows of a file: how many rows it concerns.
create table if not exists loading.note (
    file_id integer not null, reason varchar not null, rows bigint not null
);
