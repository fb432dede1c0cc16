-- Customers and their measurement sets.
--
-- Every table that hangs on a shop repeats shop_id, and foreign keys carry it
-- along, so that a row of one shop can never point at a row of another.

-- +goose Up

-- For tables whose rows are written once. The one change allowed is the erasure of a person's data:
-- erased_at is set, once, and the columns named as the trigger's arguments are emptied. A CHECK on
-- each table says that they are empty exactly when erased_at is set.
-- +goose StatementBegin
CREATE FUNCTION refuse_change_but_erasure() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    may_change text[] := TG_ARGV || ARRAY['erased_at'];
BEGIN
    IF TG_OP = 'UPDATE' THEN
        IF OLD.erased_at IS NULL AND NEW.erased_at IS NOT NULL
            AND to_jsonb(NEW) - may_change = to_jsonb(OLD) - may_change THEN
            RETURN NEW;
        END IF;
    END IF;
    RAISE EXCEPTION '% is written once: % refused', TG_TABLE_NAME, TG_OP
        USING ERRCODE = 'check_violation', TABLE = TG_TABLE_NAME, CONSTRAINT = TG_TABLE_NAME || '_immutable';
END
$$;
-- +goose StatementEnd

CREATE TABLE customers (
    id         uuid        PRIMARY KEY,
    shop_id    uuid        NOT NULL REFERENCES shops,
    reference  text        CONSTRAINT customers_reference CHECK (char_length(reference) BETWEEN 1 AND 200), -- the shop's own
    name       text        CONSTRAINT customers_name CHECK (char_length(name) BETWEEN 1 AND 200),
    sets       integer     NOT NULL DEFAULT 0, -- measurement sets so far: the last one's version
    created_at timestamptz NOT NULL,
    updated_at timestamptz NOT NULL,
    erased_at  timestamptz,
    CONSTRAINT customers_reference_key UNIQUE (shop_id, reference),
    CONSTRAINT customers_of_shop UNIQUE (shop_id, id),
    -- The shop's reference names a person too.
    CONSTRAINT customers_erased CHECK (erased_at IS NULL OR (name IS NULL AND reference IS NULL))
);
CREATE INDEX customers_shop ON customers (shop_id, id DESC);

CREATE TABLE measurement_sets (
    id          uuid        PRIMARY KEY,
    shop_id     uuid        NOT NULL,
    customer_id uuid        NOT NULL,
    version     integer     NOT NULL CONSTRAINT measurement_sets_version CHECK (version >= 1),
    unit        text        NOT NULL CONSTRAINT measurement_sets_unit CHECK (unit IN ('cm', 'inch')),
    given       jsonb, -- by name, in unit, as the shop gave them
    report      jsonb, -- what checking them said
    created_by  uuid        REFERENCES api_keys,
    created_at  timestamptz NOT NULL,
    erased_at   timestamptz,
    FOREIGN KEY (shop_id, customer_id) REFERENCES customers (shop_id, id),
    CONSTRAINT measurement_sets_version_key UNIQUE (customer_id, version),
    CONSTRAINT measurement_sets_of_customer UNIQUE (customer_id, id),
    CONSTRAINT measurement_sets_erased CHECK (
        CASE WHEN erased_at IS NULL
            THEN given IS NOT NULL AND report IS NOT NULL
            ELSE given IS NULL AND report IS NULL
        END)
);
CREATE TRIGGER measurement_sets_immutable BEFORE UPDATE OR DELETE ON measurement_sets
    FOR EACH ROW EXECUTE FUNCTION refuse_change_but_erasure('given', 'report');

-- +goose Down
DROP TABLE measurement_sets;
DROP TABLE customers;
DROP FUNCTION refuse_change_but_erasure;
