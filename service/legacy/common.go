package legacy

import (
	"encoding/json"

	"tapeline/db"
)

func encode(v any) json.RawMessage { return db.JSON(v) }
