-- output: published monthly counts of the organisation and the answers behind them, over all regions
-- grain:  one row
-- time:   months of quarter $first to $month ('2026-10')
-- Published values only: what is made of them adds nothing to what readers have already.
select coalesce(sum(published), 0)::bigint as cases, coalesce(sum(n), 0)::bigint as answers
from release_private.ledger
where kind = 'discomfort/month' and level = 'organisation' and published is not null
    and concat(left(period, 4), '-Q', (cast(right(period, 2) as integer) + 2) // 3) >= $first
    and period <= $month
