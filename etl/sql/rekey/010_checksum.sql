-- output: core.file_ledger.content_checksum of one contract's files, after their rows were rewritten
-- grain:  one row a file of the contract
-- time:   none
update core.file_ledger set content_checksum = (
    select coalesce(sum(md5_number_lower({row})::hugeint), 0)::varchar
    from core.{table} c where c.file_id = core.file_ledger.file_id
) where contract = ?
