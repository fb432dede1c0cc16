package db

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/google/uuid"
	"github.com/klauspost/compress/zstd"

	"tapeline/db/query"
)

// Rows of drafts.
type (
	DraftHead     = query.DraftHead
	DraftRevision = query.DraftRevision
)

// DraftInput is the input of a draft.
type DraftInput struct {
	query.DraftInput
	BasisAlterations *uuid.UUID      // those in Basis; nil: none
	Basis            json.RawMessage // the spec with measurements and alterations, in one object
}

// DraftInput reads, by the order's ID alone, what its next draft is made from.
func (q Queries) DraftInput(ctx context.Context, order uuid.UUID) (DraftInput, error) {
	r, err := q.Queries.DraftInput(ctx, order)
	return DraftInput{r.DraftInput, r.BasisAlterations, r.Basis}, err
}

// DraftRevision reads a draft with its document. It fails if the document does
// not have the draft's hash. An erased draft has no document.
func (q Queries) DraftRevision(ctx context.Context, p query.DraftRevisionParams) (query.DraftRevision, error) {
	d, err := q.Queries.DraftRevision(ctx, p)
	if err != nil || d.ErasedAt != nil {
		return d, err
	}
	if d.Document, err = decompress(d.Document); err != nil {
		return query.DraftRevision{}, fmt.Errorf("draft revision %d of order %s: %w", d.Number, d.OrderID, err)
	}
	if sum := sha256.Sum256(d.Document); !bytes.Equal(sum[:], d.Hash) {
		return query.DraftRevision{}, fmt.Errorf("draft revision %d of order %s: document does not have its hash",
			d.Number, d.OrderID)
	}
	return d, nil
}

// DraftDocuments lists the documents of the drafts of orders that are not
// erased, newest first.
func (q Queries) DraftDocuments(
	ctx context.Context, p query.DraftDocumentsParams,
) ([]query.DraftDocumentsRow, error) {
	rows, err := q.Queries.DraftDocuments(ctx, p)
	if err != nil {
		return nil, err
	}
	for i, row := range rows {
		if rows[i].Document, err = decompress(row.Document); err != nil {
			return nil, fmt.Errorf("draft revision %d of order %s: %w", row.Number, row.OrderID, err)
		}
	}
	return rows, nil
}

// SettleDraft is the generated query with the document given plain and its hash
// filled in. It returns the fitting of the draft, nil if the shop tries none on, and
// fails with ErrNotFound if the order no longer waits for the draft.
func (q Queries) SettleDraft(ctx context.Context, p query.SettleDraftParams) (fitting *uuid.UUID, err error) {
	if p.Document != nil {
		sum := sha256.Sum256(p.Document)
		p.Hash, p.Document = sum[:], compress(p.Document)
	}
	return q.Queries.SettleDraft(ctx, p)
}

// FinishFitting is the generated query with the picture given plain. It returns 0
// if the fitting is finished or gone.
func (q Queries) FinishFitting(ctx context.Context, p query.FinishFittingParams) (int64, error) {
	if p.Picture != nil {
		p.Picture = compress(p.Picture)
	}
	return q.Queries.FinishFitting(ctx, p)
}

// FittingPicture reads the picture of a fitting; nil if it has none.
func (q Queries) FittingPicture(
	ctx context.Context, p query.FittingPictureParams,
) (row query.FittingPictureRow, err error) {
	if row, err = q.Queries.FittingPicture(ctx, p); err != nil || row.Picture == nil {
		return row, err
	}
	if row.Picture, err = decompress(row.Picture); err != nil {
		return row, fmt.Errorf("picture of fitting %s: %w", p.ID, err)
	}
	return row, nil
}

// FinishRefitFitting is the generated query with the picture given plain.
func (q Queries) FinishRefitFitting(ctx context.Context, p query.FinishRefitFittingParams) error {
	if p.Picture != nil {
		p.Picture = compress(p.Picture)
	}
	return q.Queries.FinishRefitFitting(ctx, p)
}

// RefitFittingPicture reads the picture of an order's fitting in a refit; nil if it
// has none.
func (q Queries) RefitFittingPicture(
	ctx context.Context, p query.RefitFittingPictureParams,
) (row query.RefitFittingPictureRow, err error) {
	if row, err = q.Queries.RefitFittingPicture(ctx, p); err != nil || row.Picture == nil {
		return row, err
	}
	if row.Picture, err = decompress(row.Picture); err != nil {
		return row, fmt.Errorf("picture of order %s in refit %s: %w", p.OrderID, p.RefitID, err)
	}
	return row, nil
}

// zstd at its fastest setting stores a torso's draft of 30 kB in 11 kB; the
// server's own lz4 in 15 kB, its pglz in 17 kB. It is also the fastest to read
// back. Slower settings of zstd gain nothing on such data. The encoder and decoder
// may be used from many goroutines at once.
var (
	encoder, _ = zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedFastest), zstd.WithEncoderConcurrency(1))
	decoder, _ = zstd.NewReader(nil, zstd.WithDecoderConcurrency(0), zstd.WithDecoderMaxMemory(64<<20))
)

func compress(plain []byte) []byte { return encoder.EncodeAll(plain, nil) }

func decompress(b []byte) ([]byte, error) {
	plain, err := decoder.DecodeAll(b, nil)
	if err != nil {
		return nil, errors.Join(errors.New("document cannot be decompressed"), err)
	}
	return plain, nil
}
