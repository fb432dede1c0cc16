-- Who did what. Append-only, even to the owner of the tables short of dropping the trigger.
-- Entries name subjects by id and hold no names, measurements, keys or links, so that erasing a
-- customer leaves nothing here to erase.

-- +goose Up
CREATE TABLE audit_entries (
    id           bigint      GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    shop_id      uuid        NOT NULL REFERENCES shops,
    actor        uuid        REFERENCES api_keys, -- NULL: the operator at the command line, or the service itself
    action       text        NOT NULL CHECK (action <> ''),
    subject_type text        NOT NULL,
    subject_id   uuid,
    request_id   text, -- joins it to the log
    detail       jsonb,
    at           timestamptz NOT NULL
);
CREATE INDEX audit_entries_shop ON audit_entries (shop_id, id DESC);
CREATE INDEX audit_entries_subject ON audit_entries (subject_id, id DESC);

-- +goose StatementBegin
CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% is append-only: % refused', TG_TABLE_NAME, TG_OP
        USING ERRCODE = 'check_violation', TABLE = TG_TABLE_NAME, CONSTRAINT = TG_TABLE_NAME || '_append_only';
END
$$;
-- +goose StatementEnd
CREATE TRIGGER audit_entries_append_only BEFORE UPDATE OR DELETE ON audit_entries
    FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER audit_entries_no_truncate BEFORE TRUNCATE ON audit_entries
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

-- +goose Down
DROP TABLE audit_entries;
DROP FUNCTION refuse_change;
