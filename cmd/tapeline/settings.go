package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"reflect"
	"strings"
	"time"

	"github.com/go-playground/validator/v10"

	"tapeline/service/app"
)

// settings are those of serve, demo, migrate and keys. A flag that is not given
// takes its value from the environment: TAPELINE_ and the flag's name, but
// DATABASE_URL for the database.
type settings struct {
	Addr            string        `validate:"listen" flag:"addr"`
	MetricsAddr     string        `validate:"omitempty,listen" flag:"metrics-addr"`
	PublicURL       string        `validate:"omitempty,http_url" flag:"public-url"`
	Database        string        `validate:"omitempty,startswith=postgres" flag:"database"`
	Data            string        `validate:"required" flag:"data"`
	Conns           int           `validate:"min=4,max=1000" flag:"db-conns"`
	Migrate         bool          `flag:"migrate"`
	Rate            float64       `validate:"min=0" flag:"rate"`
	TrustedProxies  networks      `flag:"trusted-proxies"`
	DraftWorkers    int           `validate:"min=0,max=1000" flag:"draft-workers"`
	DeliverWorkers  int           `validate:"min=0,max=10000" flag:"deliver-workers"`
	JobTimeout      time.Duration `validate:"omitempty,min=10s" flag:"job-timeout"`
	WorkTime        time.Duration `validate:"min=100ms,max=60s" flag:"work-time"`
	WorkMemory      int           `validate:"min=16,max=4096" flag:"work-memory"`
	Memory          int           `validate:"min=16,max=65536,gtefield=WorkMemory" flag:"memory"`
	PrivateWebhooks bool          `flag:"private-webhooks"`
	Drain           time.Duration `validate:"min=0" flag:"drain"`
	Grace           time.Duration `validate:"min=1s" flag:"grace"`
	LogLevel        slog.Level    `flag:"log-level"`
	secrets         app.Secrets
}

// networks are IP networks in CIDR notation, separated by commas.
type networks []*net.IPNet

func (n *networks) String() string {
	var list []string
	for _, network := range *n {
		list = append(list, network.String())
	}
	return strings.Join(list, ",")
}

func (n *networks) Set(text string) error {
	var list networks
	for part := range strings.SplitSeq(text, ",") {
		_, network, err := net.ParseCIDR(strings.TrimSpace(part))
		if err != nil {
			return fmt.Errorf("%q is no network such as 10.0.0.0/8", part)
		}
		list = append(list, network)
	}
	*n = list
	return nil
}

// variable returns the environment variable that stands in for a flag.
func variable(flag string) string {
	if flag == "database" {
		return "DATABASE_URL"
	}
	return "TAPELINE_" + strings.ToUpper(strings.ReplaceAll(flag, "-", "_"))
}

// databaseFlags adds the flags of every command that needs the database.
func (s *settings) databaseFlags(fs *flag.FlagSet) {
	// For commands without these flags.
	s.Addr, s.Grace, s.WorkTime, s.WorkMemory, s.Memory = "127.0.0.1:8080", 20*time.Second, 2*time.Second, 64, 128
	fs.StringVar(&s.Database, "database", "", "`URL` of the Postgres database; by default a private one runs in the "+
		"data folder")
	fs.StringVar(&s.Data, "data", "tapeline-data", "data `folder` of the private Postgres")
	fs.IntVar(&s.Conns, "db-conns", 12, "maximum number of database connections")
	fs.TextVar(&s.LogLevel, "log-level", slog.LevelInfo, "debug, info, warn or error")
	describeVariables(fs)
}

// serveFlags adds the flags of the commands that serve.
func (s *settings) serveFlags(fs *flag.FlagSet) {
	fs.StringVar(&s.Addr, "addr", "127.0.0.1:8080", "`host:port` to listen on")
	fs.StringVar(&s.MetricsAddr, "metrics-addr", "",
		"`host:port` for metrics and profiles only; by default the API serves the metrics")
	fs.StringVar(&s.PublicURL, "public-url", "", "`URL` of the API for callers, used in links (default http:// and addr)")
	fs.BoolVar(&s.Migrate, "migrate", false, "migrate the schema before serving; a private Postgres is always migrated")
	fs.Float64Var(&s.Rate, "rate", 500,
		"`requests` per second allowed to each key, and to each address without one; twice as many in a burst, and to "+
			"a shop with all its keys, a fiftieth to an address with a publishable key; 0 for no limit")
	fs.Var(&s.TrustedProxies, "trusted-proxies",
		"`networks` of the proxies in front, such as 10.0.0.0/8, separated by commas: the client's address is taken from "+
			"their X-Forwarded-For")
	fs.IntVar(&s.DraftWorkers, "draft-workers", 0, "number of concurrent drafts; 0 for two per core")
	fs.IntVar(&s.DeliverWorkers, "deliver-workers", 256, "number of concurrent webhook deliveries")
	fs.DurationVar(&s.JobTimeout, "job-timeout", 40*time.Second,
		"longest `time` that a job may run; one whose process was killed continues after one and a half times as long")
	fs.DurationVar(&s.WorkTime, "work-time", 2*time.Second,
		"processor `time` that one draft, file, lay plan or comparison may take; "+
			"an order that takes more is held as too_costly")
	fs.IntVar(&s.WorkMemory, "work-memory", 64,
		"`MB` that one draft, file, lay plan or comparison may count; an order that takes more is held as too_costly")
	fs.IntVar(&s.Memory, "memory", 128,
		"`MB` that all drafts, files, lay plans and comparisons may count together, at least -work-memory;\n"+
			"what finds no room waits, the shops in turns")
	fs.BoolVar(&s.PrivateWebhooks, "private-webhooks", false,
		"for development: deliver webhooks over plain http and to private addresses")
	fs.DurationVar(&s.Drain, "drain", 0,
		"`time` to keep serving after a signal to stop while /readyz fails, so that a load balancer reacts")
	fs.DurationVar(&s.Grace, "grace", 20*time.Second, "`time` for requests and jobs to end before they are handed back")
	s.databaseFlags(fs)
}

// describeVariables adds the names of the environment variables to the usage.
func describeVariables(fs *flag.FlagSet) {
	fs.VisitAll(func(f *flag.Flag) {
		if settingFlags[f.Name] {
			f.Usage += " [" + variable(f.Name) + "]"
		}
	})
}

// settingFlags are the names of the flags of settings.
var settingFlags = func() map[string]bool {
	names := map[string]bool{}
	t := reflect.TypeFor[settings]()
	for i := range t.NumField() {
		f := t.Field(i)
		if name := f.Tag.Get("flag"); name != "" {
			names[name] = true
		}
	}
	return names
}()

// fromEnvironment sets the flags that were not given from their variables.
// The default of a flag is never a variable's value, so that the usage shows
// no password.
func fromEnvironment(fs *flag.FlagSet) error {
	var wrong []error
	given := map[string]bool{}
	fs.Visit(func(f *flag.Flag) { given[f.Name] = true })
	for name := range settingFlags {
		value := os.Getenv(variable(name))
		if value == "" || given[name] || fs.Lookup(name) == nil {
			continue
		}
		if err := fs.Set(name, value); err != nil {
			wrong = append(wrong, fmt.Errorf("%s: %q: %w", variable(name), value, err))
		}
	}
	return errors.Join(wrong...)
}

const secretKeyAbout = `
TAPELINE_SECRET_KEY encrypts webhook secrets and link keys in the database: base64 of
32 random bytes, the current key first, previous keys after commas. It has no flag, so
that it does not show in a list of processes.`

// check reports every invalid setting by the name of its flag, and reads the
// secret key.
func (s *settings) check(fs *flag.FlagSet) error {
	wrong := []error{fromEnvironment(fs)}
	v := validator.New(validator.WithRequiredStructEnabled())
	// The validator's own hostname_port has no port 0 and no empty host.
	if err := v.RegisterValidation("listen", func(f validator.FieldLevel) bool {
		_, err := net.ResolveTCPAddr("tcp", f.Field().String())
		return err == nil
	}); err != nil {
		return err
	}
	v.RegisterTagNameFunc(func(f reflect.StructField) string { return f.Tag.Get("flag") })
	if found, ok := errors.AsType[validator.ValidationErrors](v.Struct(s)); ok {
		for _, f := range found {
			wrong = append(wrong, fmt.Errorf("-%s: %q: %s", f.Field(), hush(fmt.Sprint(f.Value())), expectation(f)))
		}
	}
	var err error
	if s.secrets, err = app.ParseSecrets(os.Getenv("TAPELINE_SECRET_KEY")); err != nil {
		wrong = append(wrong, fmt.Errorf("TAPELINE_SECRET_KEY: %w", err))
	}
	return errors.Join(wrong...)
}

func expectation(f validator.FieldError) string {
	switch f.Tag() {
	case "listen":
		return "must be host:port"
	case "http_url":
		return "must be an http or https URL"
	case "startswith":
		return "must be a URL that begins with postgres://"
	case "gtefield":
		return "must be at least -work-memory"
	case "min":
		return "must be at least " + f.Param()
	case "max":
		return "must be at most " + f.Param()
	default:
		return "required"
	}
}

// openDatabase opens the database of the settings. A data folder that another
// process uses is shared, or refused if alone is set.
func (s *settings) openDatabase(ctx context.Context, log *slog.Logger, alone bool) (*app.Database, error) {
	return app.OpenDatabase(ctx, app.DatabaseConfig{
		URL: s.Database, Folder: s.Data, Alone: alone, MaxConns: s.Conns, Secrets: s.secrets, Log: log})
}

// parseSettings parses and validates flags and settings. If ok is false, the
// command exits with the code.
func parseSettings(fs *flag.FlagSet, s *settings, args []string, stderr io.Writer) (code int, ok bool) {
	if _, code, ok := parseFlags(fs, args); !ok {
		return code, false
	}
	if err := s.check(fs); err != nil {
		fmt.Fprintf(stderr, "tapeline %s: %s\n", fs.Name(), strings.ReplaceAll(err.Error(), "\n", "\n  "))
		return exitUsage, false
	}
	return exitDone, true
}
