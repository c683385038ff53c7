-- output: schema release_private of the person store: rounding labels and the contributor ledger
-- grain:  see each table
-- time:   periods as in the release ('2026-10', '2026-Q3')
-- A token is a random label of a person with no attribute beside it. It keys the rounding and lets a later audit
-- see which published numbers rest on the same people. It outlives the pseudonym: a yearly re-keying moves the
-- token to the new pseudonym, a withdrawal deletes the row here and leaves the token in the ledger without a person.
create schema if not exists release_private;

create table if not exists release_private.token (person varchar primary key, token varchar not null unique);

-- One row a set of people that a number was counted over; set_id is the SHA-256 of the sorted tokens.
create table if not exists release_private.contributor_set (set_id varchar primary key, tokens varchar[] not null);

-- One row a health cell the release judged, shown (`published` filled) or hidden. No true count is kept.
-- `kind` is 'discomfort/month' or 'discomfort/quarter'.
create table if not exists release_private.ledger (
    edition integer not null, kind varchar not null, level varchar not null, unit varchar not null,
    period varchar not null, region varchar not null, set_id varchar not null,
    n integer not null, base integer not null, published integer
);

-- Who answered for a region in a month, as known when the edition was made. A quarter's edition lists its three
-- months once more, because late answers count in the quarter though not in the months already published.
create table if not exists release_private.answered (
    edition integer not null, period varchar not null, region varchar not null, set_id varchar not null
);

-- Who was on which team in each released month (the set as it was when the month was released).
create table if not exists release_private.roster (
    edition integer not null, period varchar not null, team varchar not null, cluster varchar not null,
    set_id varchar not null
);

-- Model results stated: one row a statement and way of entering it, so that no question is answered twice, nor from
-- nearly the same records. `way` is a digest of side, months and exposure; nothing of these can be read from it.
create table if not exists release_private.statement (
    edition integer not null, outcome varchar not null, asked varchar not null, period varchar not null,
    way varchar not null, set_id varchar not null
);

-- Limits of the flags, found once for each series of a case definition; JSON of models.flag_setup.Setup.
create table if not exists release_private.flag_setup (
    edition integer not null, series varchar not null, setup varchar not null
);

-- Fingerprints of the release key that editions were made with; a second one is a changed key.
create table if not exists release_private.key_seen (fingerprint varchar primary key, first_edition integer not null);

-- What the facts were last built from, so that a release rebuilds them only when something changed.
create table if not exists release_private.facts_stamp (stamp varchar not null);
