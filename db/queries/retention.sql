-- Each query removes what is past its use before a time, at most a number of
-- rows at once so that no transaction is long, and returns how many.

-- name: DeleteAudit :execrows
DELETE FROM audit_entries WHERE id IN (
    SELECT a.id FROM audit_entries a WHERE a.at < @before ORDER BY a.at LIMIT @limit_::integer);

-- name: DeleteAnswers :execrows
-- DeleteAnswers removes answers kept for repeated requests.
DELETE FROM idempotency_keys WHERE (shop_id, key) IN (
    SELECT k.shop_id, k.key FROM idempotency_keys k WHERE k.created_at < @before ORDER BY k.created_at LIMIT @limit_::integer);

-- name: DeleteMessages :execrows
-- DeleteMessages removes messages that were settled, with their attempts.
-- Pending ones stay.
DELETE FROM webhook_messages WHERE id IN (
    SELECT m.id FROM webhook_messages m
    WHERE m.status <> 'pending' AND m.settled_at < @before::timestamptz ORDER BY m.settled_at LIMIT @limit_::integer);

-- name: DeleteInboundMessages :execrows
DELETE FROM inbound_messages WHERE (shop_id, message_id) IN (
    SELECT m.shop_id, m.message_id FROM inbound_messages m
    WHERE m.received_at < @before ORDER BY m.received_at LIMIT @limit_::integer);

-- name: DeleteLinks :execrows
-- DeleteLinks removes links that expired.
DELETE FROM download_links WHERE id IN (
    SELECT l.id FROM download_links l WHERE l.expires_at < @before ORDER BY l.expires_at LIMIT @limit_::integer);

-- name: DeleteProofs :execrows
-- DeleteProofs removes finished proofs, except those by which a revision was
-- proved.
DELETE FROM style_proofs WHERE id IN (
    SELECT p.id FROM style_proofs p
    WHERE p.finished_at < @before::timestamptz AND NOT EXISTS (
        SELECT FROM style_revisions r WHERE r.style_id = p.style_id AND r.number = p.number AND r.proof_id = p.id)
    ORDER BY p.finished_at LIMIT @limit_::integer);

-- name: DeleteScripts :execrows
-- DeleteScripts removes scripts that no style, order or draft names.
DELETE FROM style_scripts WHERE hash IN (
    SELECT s.hash FROM style_scripts s
    WHERE s.used_at < @before
        AND NOT EXISTS (SELECT FROM style_revisions r WHERE r.hash = s.hash)
        AND NOT EXISTS (SELECT FROM orders o WHERE o.style_hash = s.hash)
        AND NOT EXISTS (SELECT FROM draft_revisions d WHERE d.spec ? 'style_hash' AND d.spec ->> 'style_hash' = encode(s.hash, 'hex'))
    ORDER BY s.used_at LIMIT @limit_::integer FOR UPDATE OF s);

-- name: EmptyComparisons :execrows
-- EmptyComparisons empties what refits that ended compared. What was found and
-- what became of each order stays.
UPDATE refit_orders SET comparison = NULL, faults = NULL WHERE (refit_id, order_id) IN (
    SELECT o.refit_id, o.order_id FROM refits r JOIN refit_orders o ON o.refit_id = r.id
    WHERE r.ended_at < @before::timestamptz AND (o.comparison IS NOT NULL OR o.faults IS NOT NULL)
    ORDER BY r.ended_at LIMIT @limit_::integer);

-- name: DeleteOldRefitFittings :execrows
-- DeleteOldRefitFittings removes what refits that ended found of the fit of their orders.
DELETE FROM refit_fittings WHERE (refit_id, order_id) IN (
    SELECT f.refit_id, f.order_id FROM refit_fittings f JOIN refits r ON r.id = f.refit_id
    WHERE r.ended_at < @before::timestamptz ORDER BY r.ended_at LIMIT @limit_::integer);

-- name: DeleteSessions :execrows
-- DeleteSessions removes sessions that expired before a time.
DELETE FROM sessions WHERE id IN (
    SELECT s.id FROM sessions s WHERE s.expires_at < @before ORDER BY s.expires_at LIMIT @limit_::integer);

-- name: DeleteQuestions :execrows
-- DeleteQuestions removes questions that expired.
DELETE FROM questions WHERE id IN (
    SELECT q.id FROM questions q WHERE q.expires_at < @before ORDER BY q.expires_at LIMIT @limit_::integer);
