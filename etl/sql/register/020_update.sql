-- output: core.changes, one entry altered; null leaves a value as it is
-- grain:  one row a change
-- time:   started and completed are DATEs
update core.changes set
    started = coalesce($started, started), completed = coalesce($completed, completed),
    adherence_percent = coalesce($adherence_percent, adherence_percent), cost = coalesce($cost, cost),
    status = coalesce($status, status)
where change = $change
