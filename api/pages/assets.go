package pages

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"strings"
	"time"
)

//go:embed assets
var assetFiles embed.FS

//go:embed templates
var templateFiles embed.FS

// assets is the style sheet and the script, each at an address that changes
// with its content, so that browsers may keep it for good.
type assets struct {
	content map[string][]byte
	version map[string]string
	Zones   []string // IANA names to choose from; others can be typed
}

func loadAssets() (*assets, error) {
	a := &assets{content: map[string][]byte{}, version: map[string]string{}}
	for _, name := range []string{"ripeline.css", "ripeline.js", "icon.svg"} {
		raw, err := fs.ReadFile(assetFiles, "assets/"+name)
		if err != nil {
			return nil, fmt.Errorf("asset: %w", err)
		}
		sum := sha256.Sum256(raw)
		a.content[name], a.version[name] = raw, hex.EncodeToString(sum[:6])
	}
	zones, err := fs.ReadFile(assetFiles, "assets/zones.txt")
	if err != nil {
		return nil, fmt.Errorf("asset: %w", err)
	}
	a.Zones = strings.Fields(string(zones))
	return a, nil
}

// href is the address of an asset; a name that is not there fails the
// template, and so the start.
func (a *assets) href(name string) (string, error) {
	version, ok := a.version[name]
	if !ok {
		return "", fmt.Errorf("there is no asset %q", name)
	}
	return "/assets/" + name + "?v=" + version, nil
}

func (a *assets) serve(w http.ResponseWriter, r *http.Request) {
	name := strings.TrimPrefix(r.URL.Path, "/assets/")
	raw, ok := a.content[name]
	if !ok {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	http.ServeContent(w, r, name, time.Time{}, bytes.NewReader(raw))
}
