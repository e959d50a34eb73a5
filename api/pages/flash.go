package pages

import (
	"context"
	"encoding/json"
)

// sessionFlash is the session key of what the next page is to say.
const sessionFlash = "flash"

// flash is what happened, said on the page after.
type flash struct {
	Text string `json:"text"`
	Href string `json:"href,omitempty"` // where to go on, with its link's text
	Link string `json:"link,omitempty"`
	Warn bool   `json:"warn,omitempty"` // it asks for something to be done
}

func (v *visit) say(f flash) {
	raw, err := json.Marshal(f)
	if err != nil {
		v.Log.ErrorContext(v.ctx(), "flash could not be kept", "error", err)
		return
	}
	v.Sessions.Put(v.ctx(), sessionFlash, string(raw))
}

// heard takes the flash out of the session; nil when there is none.
func (s *site) heard(ctx context.Context) *flash {
	raw := s.Sessions.PopString(ctx, sessionFlash)
	if raw == "" {
		return nil
	}
	var f flash
	if err := json.Unmarshal([]byte(raw), &f); err != nil {
		s.Log.WarnContext(ctx, "flash could not be read", "error", err)
		return nil
	}
	return &f
}
