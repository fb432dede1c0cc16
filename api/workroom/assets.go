package workroom

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
	"net/http"
	"path"

	"github.com/labstack/echo/v4"

	"tapeline/service"
)

//go:embed assets
var assetFiles embed.FS

// assets are the files that pages load. Their addresses contain a hash of all of
// them, so that browsers keep them for as long as they like.
type assets struct {
	version string
	files   map[string][]byte // by name below assets
}

func readAssets() assets {
	a := assets{files: map[string][]byte{}}
	sum := sha256.New()
	// The files are part of the program: reading them cannot fail.
	_ = fs.WalkDir(assetFiles, "assets", func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		data, err := assetFiles.ReadFile(name)
		a.files[name[len("assets/"):]] = data
		sum.Write(data)
		return err
	})
	a.version = hex.EncodeToString(sum.Sum(nil)[:6])
	return a
}

// address returns the address of an asset.
func (a assets) address(name string) string { return Root + "/assets/" + a.version + "/" + name }

var assetTypes = map[string]string{".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8"}

func (r *Room) asset(c echo.Context) error {
	data, ok := r.assets.files[c.Param("*")]
	if !ok {
		return service.NotFound("page")
	}
	c.Response().Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	return c.Blob(http.StatusOK, assetTypes[path.Ext(c.Param("*"))], data)
}
