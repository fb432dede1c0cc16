package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"regexp"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/google/uuid"

	"tapeline/service"
	"tapeline/service/access"
)

const keysAbout = `
Adds, lists and revokes API keys. It is for the first key of a shop, and when no key of
role admin is at hand; the API does the same.

  tapeline keys add -shop thimble-row -role admin    adds a key, and the shop if there is none
  tapeline keys add -shop thimble-row -role publishable -origins https://shop.example
                                                     adds a key for the pages of the shop
  tapeline keys list -shop thimble-row               lists the shop's keys, without their secrets
  tapeline keys revoke -shop thimble-row -id ID      revokes a key at once
  tapeline keys shops                                lists all shops
  tapeline keys retain -shop thimble-row -days 730   erases customers after that many days; 0 keeps them
  tapeline keys reseal                               encrypts all secrets with the first key of TAPELINE_SECRET_KEY

The secret of a key is shown once. The command may run while a server uses the data
folder.`

// keyCommand holds the arguments of keys.
type keyCommand struct {
	settings
	do      string
	shop    string
	name    string
	role    string
	id      string
	origins string
	test    bool
	expires time.Duration
	days    int
}

func runKeys(ctx context.Context, args []string, _ io.Reader, stdout, stderr io.Writer) int {
	var k keyCommand
	fs := newFlags("keys", "add|list|revoke|shops|retain|reseal [flags]", keysAbout, stderr)
	k.databaseFlags(fs)
	k.flags(fs)
	positional, code, ok := parseFlags(fs, args, "add, list, revoke, shops, retain or reseal")
	if !ok {
		return code
	}
	k.do = positional[0]
	if err := errors.Join(k.check(), k.settings.check(fs)); err != nil {
		fmt.Fprintf(stderr, "tapeline keys: %v\n", err)
		return exitUsage
	}
	if err := k.run(ctx, stdout, newLogger(stderr, max(k.LogLevel, slog.LevelWarn))); err != nil {
		fmt.Fprintf(stderr, "tapeline keys: %s\n", hush(err.Error()))
		return exitFaults
	}
	return exitDone
}

func (k *keyCommand) flags(fs *flag.FlagSet) {
	fs.StringVar(&k.shop, "shop", "", "`slug` of the shop")
	fs.StringVar(&k.name, "name", "", "name of the key, and of a new shop (default the role, and the slug)")
	fs.StringVar(&k.role, "role", "", "publishable, shop, staff or admin")
	fs.BoolVar(&k.test, "test", false, "the key makes and sees test orders only")
	fs.StringVar(&k.origins, "origins", "", "`origins` of the pages that may use a publishable key, separated by commas")
	fs.StringVar(&k.id, "id", "", "`ID` of the key to revoke")
	fs.DurationVar(&k.expires, "expires", 0, "`time` until the key expires, such as 720h; 0 for never")
	fs.IntVar(&k.days, "days", 0, "`days` to keep customers after their last order")
}

var slug = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

// check reports missing and invalid arguments.
func (k *keyCommand) check() error {
	var wrong []error
	if !slices.Contains([]string{"add", "list", "revoke", "shops", "retain", "reseal"}, k.do) {
		wrong = append(wrong, fmt.Errorf("unknown command %q: must be add, list, revoke, shops, retain or reseal", k.do))
	}
	if needsShop := k.do != "shops" && k.do != "reseal"; needsShop && (!slug.MatchString(k.shop) || len(k.shop) > 60) {
		wrong = append(wrong, fmt.Errorf("-shop: %q: must be lower-case letters, digits and single hyphens", k.shop))
	}
	if k.do == "add" && !slices.Contains(service.Roles(), service.Role(k.role)) {
		wrong = append(wrong, fmt.Errorf("-role: %q: must be publishable, shop, staff or admin", k.role))
	}
	if k.do == "revoke" && uuid.Validate(k.id) != nil {
		wrong = append(wrong, fmt.Errorf("-id: %q: must be the ID of a key, see tapeline keys list", k.id))
	}
	if k.expires < 0 || k.days < 0 || k.days > 3650 {
		wrong = append(wrong, errors.New("-expires and -days: must be at least 0, and at most 3650 days"))
	}
	return errors.Join(wrong...)
}

func (k *keyCommand) run(ctx context.Context, stdout io.Writer, log *slog.Logger) error {
	d, err := k.openDatabase(ctx, log, false)
	if err != nil {
		return err
	}
	defer d.Close(ctx)
	if d.Private() { // nobody else would
		if _, err := d.Migrate(ctx); err != nil {
			return err
		}
	}
	s := d.Access()
	switch k.do {
	case "add":
		return k.add(ctx, s, d.Now(), stdout)
	case "list":
		return k.list(ctx, s, d.Now(), stdout)
	case "revoke":
		return k.revoke(ctx, s, stdout)
	case "retain":
		return k.retain(ctx, s, stdout)
	case "reseal":
		n, err := s.Reseal(ctx)
		fmt.Fprintf(stdout, "%d secrets encrypted\n", n)
		return err
	default:
		return listShops(ctx, s, stdout)
	}
}

func (k *keyCommand) add(ctx context.Context, s *access.Service, now time.Time, stdout io.Writer) error {
	name := k.name
	if name == "" {
		name = k.shop
	}
	shop, created, err := s.EnsureShop(ctx, k.shop, name)
	if err != nil {
		return err
	}
	if created {
		fmt.Fprintf(stdout, "added shop %s (%s)\n", shop.Slug, shop.ID)
	}
	n := access.NewKey{Name: k.name, Role: service.Role(k.role), Test: k.test}
	if n.Name == "" {
		n.Name = k.role
	}
	if k.origins != "" {
		n.Origins = strings.Split(k.origins, ",")
	}
	if k.expires > 0 {
		until := now.Add(k.expires)
		n.ExpiresAt = &until
	}
	key, secret, err := s.CreateKey(ctx, service.Caller{Shop: shop.ID}, n)
	if err != nil {
		return err
	}
	fmt.Fprintf(stdout, "added key %s of role %s; its secret is shown only this once:\n%s\n", key.ID, key.Role, secret)
	return nil
}

func (k *keyCommand) list(ctx context.Context, s *access.Service, now time.Time, stdout io.Writer) error {
	shop, err := k.shopOf(ctx, s)
	if err != nil {
		return err
	}
	keys, err := s.Keys(ctx, service.Caller{Shop: shop.ID})
	if err != nil {
		return err
	}
	t := tabwriter.NewWriter(stdout, 0, 0, 3, ' ', 0)
	fmt.Fprintln(t, "ID\tBEGINS\tROLE\tNAME\tCREATED\tLAST USED\tSTATE")
	for _, key := range keys {
		role := string(key.Role)
		if key.Test {
			role += " (test)"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\t%s\n", key.ID, key.Prefix, role, key.Name,
			key.CreatedAt.Format(time.DateOnly), day(key.LastUsedAt), keyState(key, now))
	}
	return t.Flush()
}

func day(t *time.Time) string {
	if t == nil {
		return "never"
	}
	return t.Format(time.DateOnly)
}

func keyState(k access.Key, now time.Time) string {
	switch {
	case k.RevokedAt != nil:
		return "revoked " + day(k.RevokedAt)
	case k.Expired(now):
		return "expired " + day(k.ExpiresAt)
	default:
		return "valid"
	}
}

func (k *keyCommand) revoke(ctx context.Context, s *access.Service, stdout io.Writer) error {
	shop, err := k.shopOf(ctx, s)
	if err != nil {
		return err
	}
	if err := s.RevokeKey(ctx, service.Caller{Shop: shop.ID}, uuid.MustParse(k.id)); err != nil {
		return err
	}
	fmt.Fprintln(stdout, "revoked")
	return nil
}

func (k *keyCommand) retain(ctx context.Context, s *access.Service, stdout io.Writer) error {
	shop, err := k.shopOf(ctx, s)
	if err != nil {
		return err
	}
	says := "customers are kept until they are erased"
	if k.days > 0 {
		says = fmt.Sprintf("customers are erased %d days after their last order", k.days)
	}
	change := access.SettingsChange{RetentionDays: &k.days}
	if _, err := s.ChangeSettings(ctx, service.Caller{Shop: shop.ID}, change); err != nil {
		return err
	}
	fmt.Fprintln(stdout, says)
	return nil
}

func (k *keyCommand) shopOf(ctx context.Context, s *access.Service) (access.Shop, error) {
	shop, err := s.Shop(ctx, k.shop)
	if e, ok := errors.AsType[*service.Error](err); ok && e.Code == service.CodeNotFound {
		return shop, fmt.Errorf("unknown shop %s", k.shop)
	}
	return shop, err
}

func listShops(ctx context.Context, s *access.Service, stdout io.Writer) error {
	shops, err := s.Shops(ctx)
	if err != nil {
		return err
	}
	for _, shop := range shops {
		fmt.Fprintf(stdout, "%s   %s   %s\n", shop.ID, shop.Slug, shop.Name)
	}
	return nil
}
