-- output: core.change_history, what the register of changes has said over time
-- grain:  one row a change and version; a version is added, never altered
-- time:   noted_at, UTC; when it was noticed, by a register command or a release
create table if not exists core.change_history (
    change varchar not null, version integer not null, noted_at timestamp not null,
    action varchar not null, entry varchar
);
