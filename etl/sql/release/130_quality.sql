-- output: what became of the rows of all loaded files
-- grain:  one row a contract
-- time:   everything loaded before the release
select
    contract, count(*)::integer as files, sum(rows_in)::bigint as rows_in,
    sum(rows_accepted)::bigint as rows_accepted, sum(rows_set_aside)::bigint as rows_set_aside
from core.file_ledger
group by contract
order by contract
