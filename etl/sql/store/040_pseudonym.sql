-- output: which key made the pseudonyms, which persons withdrew, and what was removed since loading
-- grain:  see each table
-- time:   local date of the event
create schema if not exists core;

-- One row: the key of this data home's pseudonyms, by its label and fingerprint. A second one is refused.
create table if not exists core.pseudonym_key (
    label varchar primary key, fingerprint varchar not null, first_file varchar not null, seen_on date not null
);

-- One row a withdrawn person: SHA-256 of the pseudonym, which brings nobody back but keeps the person out.
create table if not exists core.tombstone (digest varchar primary key, withdrawn_on date not null);

-- Rows taken out after loading, so that rows accepted = rows present + rows removed. `cause` is 'WITHDRAWN' or
-- 'RETENTION'. No row number is kept: it would mark the person's rows in the delivered file.
create table if not exists core.removal (
    file_id integer not null, table_name varchar not null, cause varchar not null,
    rows bigint not null, removed_on date not null
);
