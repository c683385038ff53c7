-- output: core.file_ledger counts of earlier files that lost rows to a contradiction
-- grain:  one row a file and contract
-- time:   none
update core.file_ledger
set rows_accepted = rows_accepted - lost.n, rows_set_aside = rows_set_aside + lost.n
from (select file_id, count(*) as n from contested group by file_id) as lost
where file_ledger.file_id = lost.file_id;
