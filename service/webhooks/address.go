package webhooks

import (
	"context"
	"fmt"
	"net/netip"
	"net/url"
	"strconv"
	"strings"
	"time"
)

// AddressError says why an address is refused, in words fit for the person
// who gave it. They do not tell what a name resolves to: that would let a
// stranger ask about our network.
type AddressError struct{ Reason string }

func (e *AddressError) Error() string { return e.Reason }

func refused(format string, args ...any) error {
	return &AddressError{Reason: fmt.Sprintf(format, args...)}
}

// notPublic are the blocks that no message may go to, from IANA's registries of
// special-purpose addresses (RFC 6890 and what came after it), and one that a
// cloud uses for its own ends. Of IPv6 only what is listed in public6 is
// public at all, so that this list holds only exceptions within that.
var notPublic = prefixes(
	"0.0.0.0/8",        // this host and network
	"10.0.0.0/8",       // private
	"100.64.0.0/10",    // carrier-grade NAT; one cloud's metadata
	"127.0.0.0/8",      // loopback
	"168.63.129.16/32", // one cloud's host, reachable from its machines only
	"169.254.0.0/16",   // link-local; most clouds' metadata
	"172.16.0.0/12",    // private
	"192.0.0.0/24",     // protocol assignments
	"192.0.2.0/24",     // documentation
	"192.88.99.0/24",   // 6to4 relays, withdrawn
	"192.168.0.0/16",   // private
	"198.18.0.0/15",    // benchmarks
	"198.51.100.0/24",  // documentation
	"203.0.113.0/24",   // documentation
	"224.0.0.0/4",      // multicast
	"240.0.0.0/4",      // reserved; broadcast

	"2001::/23",     // protocol assignments: Teredo, ORCHID and others
	"2001:db8::/32", // documentation
	"2002::/16",     // 6to4: carries any IPv4 address
	"3fff::/20",     // documentation
)

var (
	// public6 is the one block that IANA gives out as global unicast. It leaves
	// out ::/128, ::1, mapped addresses, 100::/64, fc00::/7, fe80::/10,
	// fec0::/10, ff00::/8 and all that is still unassigned.
	public6 = netip.MustParsePrefix("2000::/3")
	// nat64 carries an IPv4 address in its last 32 bits: on a network without
	// IPv4, every host that has no IPv6 is reached so.
	nat64 = netip.MustParsePrefix("64:ff9b::/96")
)

func prefixes(texts ...string) []netip.Prefix {
	list := make([]netip.Prefix, len(texts))
	for i, text := range texts {
		list[i] = netip.MustParsePrefix(text)
	}
	return list
}

// public reports whether a message may go to the address.
func public(a netip.Addr) bool {
	if !a.IsValid() || a.Zone() != "" {
		return false
	}
	a = a.Unmap()
	if nat64.Contains(a) {
		b := a.As16()
		a = netip.AddrFrom4([4]byte(b[12:]))
	}
	if a.Is6() && !public6.Contains(a) {
		return false
	}
	for _, p := range notPublic {
		if p.Contains(a) {
			return false
		}
	}
	return true
}

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
		return nil, refused("the address must begin with https://")
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
			return nil, refused("%s is not a public address", a)
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
