package db

import (
	"context"

	"github.com/google/uuid"

	"tapeline/db/query"
)

// FollowedLink reads, by the link's ID alone, all that its use is checked against,
// with the shop's link key opened.
func (q Queries) FollowedLink(ctx context.Context, id uuid.UUID) (query.FollowedLinkRow, error) {
	f, err := q.Queries.FollowedLink(ctx, id)
	if err == nil {
		f.LinkKey, err = q.sealer.open(f.LinkKey, linkKeyOwner(f.DownloadLink.ShopID))
	}
	return f, err
}

// AskedQuestion reads, by the question's ID alone, all that its answer is checked
// against, with the shop's link key opened.
func (q Queries) AskedQuestion(ctx context.Context, id uuid.UUID) (query.AskedQuestionRow, error) {
	asked, err := q.Queries.AskedQuestion(ctx, id)
	if err == nil {
		asked.LinkKey, err = q.sealer.open(asked.LinkKey, linkKeyOwner(asked.Question.ShopID))
	}
	return asked, err
}
