-- Keys that browsers may hold: they read the catalogue, assess and preview, and only for pages of their
-- origins.

-- +goose Up
ALTER TABLE api_keys DROP CONSTRAINT api_keys_role,
    ADD CONSTRAINT api_keys_role CHECK (role IN ('publishable', 'shop', 'staff', 'admin')),
    ADD COLUMN origins text[]; -- such as https://shop.example; NULL: the key is not for browsers
ALTER TABLE api_keys ADD CONSTRAINT api_keys_origins CHECK (
    CASE role WHEN 'publishable' THEN coalesce(cardinality(origins), 0) BETWEEN 1 AND 20 ELSE origins IS NULL END);
-- A browser asks whether it may call before it sends the key.
CREATE INDEX api_keys_origin ON api_keys USING gin (origins) WHERE origins IS NOT NULL;

-- +goose Down
DELETE FROM api_keys WHERE role = 'publishable';
ALTER TABLE api_keys DROP COLUMN origins, DROP CONSTRAINT api_keys_role,
    ADD CONSTRAINT api_keys_role CHECK (role IN ('shop', 'staff', 'admin'));
