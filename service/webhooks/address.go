package webhooks

import (
	"context"
	"fmt"
	"net/netip"
	"net/url"
	"strconv"
	"strings"
	"time"

	"code.dny.dev/ssrf"
)

// AddressError says why an address is refused, in words fit for the person
// who gave it. They do not tell what a name resolves to: that would let a
// stranger ask about our network.
type AddressError struct{ Reason string }

func (e *AddressError) Error() string { return e.Reason }

func refused(format string, args ...any) error {
	return &AddressError{Reason: fmt.Sprintf(format, args...)}
}

// guard refuses IANA's special-purpose addresses, and of IPv6 all that is not
// global unicast.
var guard = ssrf.New(ssrf.WithAnyPort(), ssrf.WithDeniedV4Prefixes(
	netip.MustParsePrefix("168.63.129.16/32"), // one cloud's host, reachable from its machines only
))

// public reports whether a message may go to the address.
func public(a netip.Addr) bool {
	if !a.IsValid() || a.Zone() != "" {
		return false
	}
	a = a.Unmap()
	if ssrf.IPv6NAT64Prefix.Contains(a) { // the last 32 bits are the IPv4 address that it leads to
		b := a.As16()
		a = netip.AddrFrom4([4]byte(b[12:]))
	}
	return guard.SafeAddr(a) == nil
}

// privateHint follows a refusal that a server for development does not make.
const privateHint = "; for development, tapeline serve --private-webhooks delivers over http and to private addresses"

// maxURL is the longest address taken, in bytes.
const maxURL = 2000

// parse checks all of an address that can be checked without a network.
func (c *Client) parse(text string) (*url.URL, error) {
	if len(text) > maxURL {
		return nil, refused("the address is longer than %d characters", maxURL)
	}
	u, err := url.Parse(text)
	if err != nil || u.Opaque != "" {
		return nil, refused("the address is not a URL")
	}
	switch {
	case u.Scheme != "https" && !(c.opts.AllowPrivate && u.Scheme == "http"):
		return nil, refused("the address must begin with https://" + privateHint)
	case u.User != nil:
		return nil, refused("the address must not hold a user name or password")
	case u.Fragment != "" || strings.Contains(text, "#"):
		return nil, refused("the address must not hold a fragment (#)")
	case u.Hostname() == "":
		return nil, refused("the address names no host")
	}
	if err := c.checkPort(u.Port(), strings.HasSuffix(u.Host, ":")); err != nil {
		return nil, err
	}
	if a, err := netip.ParseAddr(u.Hostname()); err == nil {
		if !c.opts.AllowPrivate && !public(a) {
			return nil, refused("%s is not a public address"+privateHint, a)
		}
		return u, nil
	}
	return u, c.checkName(u.Hostname())
}

// checkPort takes 443 and the ports that belong to no system service.
func (c *Client) checkPort(port string, empty bool) error {
	if port == "" && !empty {
		return nil
	}
	n, err := strconv.ParseUint(port, 10, 16)
	if err != nil || n == 0 || !c.opts.AllowPrivate && n != 443 && n < 1024 {
		return refused("port %q: must be 443, or from 1024 to 65535", port)
	}
	return nil
}

// checkName takes plain host names. A last label that is a number, in any
// base, makes the whole name an IPv4 address to many resolvers (WHATWG URL
// section 3.5, "ends in a number"), which is how 2130706433, 0x7f.1 or 127.1
// slip past a check of dotted numbers.
func (c *Client) checkName(host string) error {
	if len(host) > 253 {
		return refused("the host name is longer than 253 characters")
	}
	labels := strings.Split(host, ".")
	for _, label := range labels {
		if label == "" || len(label) > 63 || strings.Trim(label, hostCharacters) != "" || label[0] == '-' ||
			label[len(label)-1] == '-' {
			return refused("%q is not a host name: write names in other scripts as xn--, and IPv6 addresses in brackets", host)
		}
	}
	last := strings.ToLower(labels[len(labels)-1])
	if strings.Trim(last, "0123456789") == "" || strings.HasPrefix(last, "0x") &&
		strings.Trim(last[2:], "0123456789abcdef") == "" {
		return refused("%q: write an IPv4 address as four decimal numbers without leading zeros", host)
	}
	if len(labels) == 1 && !c.opts.AllowPrivate {
		return refused("%q is not a public host name", host)
	}
	return nil
}

const hostCharacters = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_"

// CheckURL reports, as an *AddressError, why no message may be sent to an
// address: it must be https, to a host all of whose addresses are public. What
// a name resolves to may change, so Deliver checks again.
func (c *Client) CheckURL(ctx context.Context, text string) error {
	u, err := c.parse(text)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	_, err = c.resolve(ctx, u.Hostname())
	return err
}

// resolve gives a host's addresses when a message may go to every one of them.
func (c *Client) resolve(ctx context.Context, host string) ([]netip.Addr, error) {
	var addrs []netip.Addr
	if a, err := netip.ParseAddr(host); err == nil {
		addrs = []netip.Addr{a}
	} else if addrs, err = c.opts.Resolver.LookupNetIP(ctx, "ip", host); err != nil || len(addrs) == 0 {
		return nil, refused("%q does not resolve", host)
	}
	for _, a := range addrs {
		if !c.opts.AllowPrivate && !public(a) {
			return nil, refused("%q has an address that is not public", host)
		}
	}
	return addrs, nil
}
