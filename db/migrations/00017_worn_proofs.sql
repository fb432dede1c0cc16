-- Proofs whose drafts are tried on bodies.

-- +goose Up
ALTER TABLE style_proofs ADD COLUMN worn jsonb; -- how drafts are tried on; NULL: they are not
CREATE OR REPLACE VIEW shop_style_proofs AS
    SELECT p.shop_id, p.id, s.slug, p.style_id, p.number, p.bodies, p.status, p.done, p.total, p.result,
        p.created_by, p.created_at, p.started_at, p.finished_at, p.worn
    FROM style_proofs p JOIN styles s ON s.id = p.style_id;

-- +goose Down
DROP VIEW shop_style_proofs;
DELETE FROM style_proofs WHERE worn IS NOT NULL;
ALTER TABLE style_proofs DROP COLUMN worn;
CREATE VIEW shop_style_proofs AS
    SELECT p.shop_id, p.id, s.slug, p.style_id, p.number, p.bodies, p.status, p.done, p.total, p.result,
        p.created_by, p.created_at, p.started_at, p.finished_at
    FROM style_proofs p JOIN styles s ON s.id = p.style_id;
