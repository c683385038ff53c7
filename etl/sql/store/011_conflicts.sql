-- output: core.conflict_key, the keys two files disagree about
-- grain:  one row a contract and contested natural key; no row with such a key is accepted any more
-- time:   none
create table if not exists core.conflict_key (
    contract varchar not null, key_hash hugeint not null, file_id integer not null
);
