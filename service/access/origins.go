package access

import (
	"context"
	"fmt"
	"net/url"
	"slices"
	"strings"

	"tapeline/db/query"
	"tapeline/drafting/fault"
	"tapeline/service"
)

// maxOrigins is the number of origins that a key may name.
const maxOrigins = 20

// acceptedOrigin describes an origin.
const acceptedOrigin = "the origin of a page, such as https://shop.example or http://localhost:3000: scheme, host " +
	"and port, without a path; http is for localhost, 127.0.0.1 and [::1] only"

// normalizeOrigin returns an origin as browsers send it (RFC 6454): in lower case,
// without the scheme's default port.
func normalizeOrigin(given string) (string, bool) {
	u, err := url.Parse(strings.ToLower(given))
	if err != nil || u.Host == "" || u.User != nil || u.Scheme+"://"+u.Host != strings.ToLower(given) {
		return "", false
	}
	if strings.ContainsAny(u.Host, "*,") || strings.ContainsFunc(u.Host, func(r rune) bool { return r > '~' }) {
		return "", false
	}
	local := slices.Contains([]string{"localhost", "127.0.0.1", "::1"}, u.Hostname())
	switch {
	case u.Scheme == "https":
		return strings.TrimSuffix(u.Scheme+"://"+u.Host, ":443"), true
	case u.Scheme == "http" && local:
		return strings.TrimSuffix(u.Scheme+"://"+u.Host, ":80"), true
	}
	return "", false
}

// normalizeOrigins checks the origins of a new key and returns them as browsers send
// them, nil for a key that is not publishable.
func normalizeOrigins(role service.Role, given []string) ([]string, service.Faults) {
	if role != service.RolePublishable {
		if len(given) > 0 {
			return nil, service.Faults{{Code: fault.Unknown, Field: "/origins",
				Accepted: "nothing: only a publishable key is for pages in browsers"}}
		}
		return nil, nil
	}
	if len(given) == 0 {
		return nil, service.Faults{{Code: fault.Missing, Field: "/origins",
			Accepted: "a publishable key needs at least one: " + acceptedOrigin}}
	}
	if len(given) > maxOrigins {
		return nil, service.Faults{{Code: fault.Size, Field: "/origins",
			Accepted: fmt.Sprintf("at most %d origins", maxOrigins)}}
	}
	var origins []string
	var faults service.Faults
	for i, text := range given {
		origin, ok := normalizeOrigin(text)
		if !ok {
			faults = append(faults, service.Fault{Code: fault.Format, Field: fmt.Sprintf("/origins/%d", i),
				Value: fault.Shorten(text), Accepted: acceptedOrigin})
		} else if !slices.Contains(origins, origin) {
			origins = append(origins, origin)
		}
	}
	return origins, faults
}

// OriginAllowed reports whether any publishable key is for pages of an origin.
func (s *Service) OriginAllowed(ctx context.Context, origin string) (bool, error) {
	return s.store.OriginAllowed(ctx, query.OriginAllowedParams{Origin: origin, At: s.clock.Now()})
}
