-- output: how many rows a table holds of some files; to stand in a UNION ALL
-- grain:  one row
-- time:   none
select '{table}', count(*) from {table} where {files}
