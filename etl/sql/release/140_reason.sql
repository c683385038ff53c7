-- output: why rows were set aside, and warnings about rows that were kept (W_)
-- grain:  one row a contract and reason
-- time:   everything loaded before the release
select l.contract, s.reason, count(distinct (s.file_id, s.row_number))::bigint as rows
from core.set_aside s join core.file_ledger l on l.file_id = s.file_id
group by l.contract, s.reason
union all
select l.contract, n.reason, sum(n.rows)::bigint as rows
from loading.note n join core.file_ledger l on l.file_id = n.file_id
group by l.contract, n.reason
order by contract, rows desc, reason
