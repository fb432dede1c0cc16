-- Listeners: endpoints whose messages are fetched by a developer's program in place of being sent.

-- +goose Up
-- Until when a listener lives unless it fetches again; NULL: an endpoint that messages are sent to.
ALTER TABLE webhook_endpoints ADD COLUMN listens_until timestamptz;
CREATE INDEX webhook_endpoints_listening ON webhook_endpoints (listens_until) WHERE listens_until IS NOT NULL AND deleted_at IS NULL;
CREATE OR REPLACE VIEW webhook_receivers AS
    SELECT id, shop_id, events FROM webhook_endpoints
    WHERE deleted_at IS NULL AND disabled_reason IS DISTINCT FROM 'gone'
        AND (listens_until IS NULL OR listens_until > now());

-- +goose Down
CREATE OR REPLACE VIEW webhook_receivers AS
    SELECT id, shop_id, events FROM webhook_endpoints
    WHERE deleted_at IS NULL AND disabled_reason IS DISTINCT FROM 'gone';
UPDATE webhook_endpoints SET deleted_at = coalesce(deleted_at, now()) WHERE listens_until IS NOT NULL;
ALTER TABLE webhook_endpoints DROP COLUMN listens_until;
