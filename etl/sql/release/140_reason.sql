-- output: why rows were set aside
-- grain:  one row a contract and reason
-- time:   everything loaded before the release
select l.contract, s.reason, count(distinct (s.file_id, s.row_number))::bigint as rows
from core.set_aside s join core.file_ledger l on l.file_id = s.file_id
group by l.contract, s.reason
order by l.contract, rows desc, s.reason
