-- output: the organisation's published monthly counts over all regions, and the answers behind them
-- grain:  one row a month with a published number
-- time:   $first (may be empty) to $month ('2026-10')
-- Published values only: what is made of them adds nothing to what readers have already.
select period, sum(published)::bigint as cases, sum(n)::bigint as answers
from release_private.ledger
where kind = $kind and level = 'organisation' and published is not null and period between $first and $month
group by period
order by period
