-- Why: no query can use this index. A code is looked for as a part of the text, in
-- whatever case, so the lots of a workshop are read either way.

-- +goose Up

DROP INDEX ingredient_lots_code;
