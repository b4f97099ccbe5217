package page

import (
	"github.com/a-h/templ"

	"ropewalk.example/internal/gym"
	"ropewalk.example/web/part"
)

func tokenURL(t gym.Token) templ.SafeURL {
	return templ.SafeURL("/data/tokens/" + t.TokenID.String() + "/end")
}

// lastUsed says on which day a token was used last.
func lastUsed(t gym.Token) string {
	if t.LastUsedOn == nil {
		return "not yet"
	}
	return part.Day(*t.LastUsedOn)
}
