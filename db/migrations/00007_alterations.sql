-- Alterations that fittings found, kept for a customer and applied to every later draft.

-- +goose Up
ALTER TABLE customers ADD COLUMN alterations integer NOT NULL DEFAULT 0; -- versions so far: the last one's version

CREATE TABLE alterations (
    id          uuid        PRIMARY KEY,
    shop_id     uuid        NOT NULL,
    customer_id uuid        NOT NULL,
    version     integer     NOT NULL CONSTRAINT alterations_version CHECK (version >= 1),
    unit        text        NOT NULL CONSTRAINT alterations_unit CHECK (unit IN ('cm', 'inch')),
    given       jsonb,      -- by name, in unit, as the shop gave them; {} takes all back
    note        text        CONSTRAINT alterations_note CHECK (char_length(note) <= 500), -- a person's own words
    created_by  uuid        REFERENCES api_keys,
    created_at  timestamptz NOT NULL,
    erased_at   timestamptz,
    FOREIGN KEY (shop_id, customer_id) REFERENCES customers (shop_id, id),
    CONSTRAINT alterations_version_key UNIQUE (customer_id, version),
    CONSTRAINT alterations_erased CHECK (
        CASE WHEN erased_at IS NULL
            THEN given IS NOT NULL
            ELSE given IS NULL AND note IS NULL
        END)
);
CREATE TRIGGER alterations_immutable BEFORE UPDATE OR DELETE ON alterations
    FOR EACH ROW EXECUTE FUNCTION refuse_change_but_erasure('given', 'note');

-- The version that a draft was made with; NULL: there was none.
ALTER TABLE draft_revisions ADD COLUMN alterations_id uuid REFERENCES alterations;

-- +goose Down
ALTER TABLE draft_revisions DROP COLUMN alterations_id;
DROP TABLE alterations;
ALTER TABLE customers DROP COLUMN alterations;
