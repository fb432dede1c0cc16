package api_test

import (
	"bytes"
	"encoding/base64"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"tapeline/db"
	"tapeline/db/query"
)

// The metrics say when a stored secret was sealed with a key that the server lacks.
func TestSecretKeyMetric(t *testing.T) {
	t.Parallel()
	b := setup(t)
	fits := func(want string) {
		t.Helper()
		r := b.do(call{method: "GET", path: "/metrics"}).want(http.StatusOK, nil)
		if !strings.Contains(string(r.body), "\ntapeline_secret_key_fits "+want+"\n") {
			t.Errorf("tapeline_secret_key_fits is not %s", want)
		}
	}
	fits("1")
	sealer, err := db.NewSealer(base64.StdEncoding.EncodeToString(bytes.Repeat([]byte{1}, 32)))
	b.must(err)
	other, err := db.Open(t.Context(), b.store.Pool().Config().ConnString(), db.Options{Sealer: sealer})
	b.must(err)
	defer other.Close()
	b.must(other.InsertShop(t.Context(), query.InsertShopParams{ID: uuid.New(), Slug: "other-row", Name: "Other Row",
		LinkKey: bytes.Repeat([]byte{2}, 32), CreatedAt: time.Now()}))
	fits("0")
}
