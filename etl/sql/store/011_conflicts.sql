-- output: core.conflict_key, the keys two files disagree about
-- grain:  one row a contract and contested natural key; no row with such a key is accepted any more
-- time:   none
-- A key may name a person, and whoever knows the pseudonym could try keys against the hash. person_digest, the
-- person's tombstone, lets a withdrawal and the retention take these rows out too; null where no person is named.
create table if not exists core.conflict_key (
    contract varchar not null, key_hash hugeint not null, file_id integer not null
);
alter table core.conflict_key add column if not exists person_digest varchar;
