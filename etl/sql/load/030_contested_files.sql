-- output: names of files that have rows set aside for what one of the given files may have shown
-- grain:  one row a file name
-- time:   none
with cause as (
    select contract, 'E_CONFLICT' as reason from core.conflict_key where list_contains($ids, file_id)
    union
    select 'bouts', 'E_DAY' from loading.overfull_day where list_contains($ids, file_id)
    union
    select contract, 'E_TWOTEAMS' from core.file_ledger
    where contract = 'people' and list_contains($ids, file_id)
)
select distinct other.file_name
from cause
join core.file_ledger as other on other.contract = cause.contract and not list_contains($ids, other.file_id)
join core.set_aside as sa on sa.file_id = other.file_id and sa.reason = cause.reason
order by 1;
