-- output: every quarterly team count published so far, this edition's included
-- grain:  one row a team, region and quarter; hidden counts make no row
-- time:   period such as 2026-Q3
-- Published values only: what is made of them adds nothing to what readers have already.
select unit, region, period, published, n
from release_private.ledger
where kind = 'discomfort/quarter' and level = 'team' and published is not null and period <= $period
order by region, unit, period
