-- Customers, their measurements, and the alterations that fittings found.
--
-- Every table that belongs to a shop repeats shop_id, and foreign keys include it, so that a row of
-- one shop can never point at a row of another.

-- +goose Up
CREATE TABLE customers (
    id          uuid        PRIMARY KEY,
    shop_id     uuid        NOT NULL REFERENCES shops,
    reference   text        CONSTRAINT customers_reference CHECK (char_length(reference) BETWEEN 1 AND 200), -- the shop's own
    name        text        CONSTRAINT customers_name CHECK (char_length(name) BETWEEN 1 AND 200),
    sets        integer     NOT NULL DEFAULT 0, -- version of the latest measurement set
    alterations integer     NOT NULL DEFAULT 0, -- version of the latest alterations
    created_at  timestamptz NOT NULL,
    updated_at  timestamptz NOT NULL,
    erased_at   timestamptz,
    CONSTRAINT customers_reference_key UNIQUE (shop_id, reference),
    CONSTRAINT customers_of_shop UNIQUE (shop_id, id),
    -- The shop's reference names a person too.
    CONSTRAINT customers_erased CHECK (erased_at IS NULL OR (name IS NULL AND reference IS NULL))
);

CREATE TABLE measurement_sets (
    id          uuid        PRIMARY KEY,
    shop_id     uuid        NOT NULL,
    customer_id uuid        NOT NULL,
    version     integer     NOT NULL CONSTRAINT measurement_sets_version CHECK (version >= 1),
    unit        text        NOT NULL CONSTRAINT measurement_sets_unit CHECK (unit IN ('cm', 'inch')),
    given       jsonb, -- by name, in unit, as the shop gave them
    report      jsonb, -- what assessing them found
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
    FOR EACH ROW EXECUTE FUNCTION refuse_change_except_erasure('given', 'report');

-- Alterations apply to every later draft. The latest version counts.
CREATE TABLE alterations (
    id          uuid        PRIMARY KEY,
    shop_id     uuid        NOT NULL,
    customer_id uuid        NOT NULL,
    version     integer     NOT NULL CONSTRAINT alterations_version CHECK (version >= 1),
    unit        text        NOT NULL CONSTRAINT alterations_unit CHECK (unit IN ('cm', 'inch')),
    given       jsonb,      -- by name, in unit, as the shop gave them; {} takes all back
    reason      text        CONSTRAINT alterations_reason CHECK (char_length(reason) <= 500), -- a person's own words
    created_by  uuid        REFERENCES api_keys,
    created_at  timestamptz NOT NULL,
    erased_at   timestamptz,
    FOREIGN KEY (shop_id, customer_id) REFERENCES customers (shop_id, id),
    CONSTRAINT alterations_version_key UNIQUE (customer_id, version),
    CONSTRAINT alterations_erased CHECK (
        CASE WHEN erased_at IS NULL
            THEN given IS NOT NULL
            ELSE given IS NULL AND reason IS NULL
        END)
);
CREATE INDEX alterations_customer ON alterations (customer_id, id DESC);
CREATE TRIGGER alterations_immutable BEFORE UPDATE OR DELETE ON alterations
    FOR EACH ROW EXECUTE FUNCTION refuse_change_except_erasure('given', 'reason');

-- +goose Down
DROP TABLE alterations;
DROP TABLE measurement_sets;
DROP TABLE customers;
