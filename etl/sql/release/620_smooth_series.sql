-- output: published counts of every unit and region, and the answers behind them
-- grain:  one row a kind, unit, region and period of the ledger; the count is null where nothing was published
-- time:   from $month_from ('2026-10'; quarters from $quarter_from) to $month and $quarter; empty begins with the first
-- Published values only: what is made of them adds nothing to what readers have already.
select kind, level, unit, region, period, published, n
from release_private.ledger
where (kind = $month_kind and period between $month_from and $month)
   or (kind = $quarter_kind and period between $quarter_from and $quarter)
order by kind, level, unit, region, period
