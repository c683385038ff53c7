-- output: names of files whose rows were set aside because one of the given files contradicted them
-- grain:  one row a file name
-- time:   none
select distinct other.file_name
from core.conflict_key as ck
join core.file_ledger as other on other.contract = ck.contract and not list_contains($ids, other.file_id)
join core.set_aside as sa on sa.file_id = other.file_id and sa.reason = 'E_CONFLICT'
where list_contains($ids, ck.file_id)
order by 1;
