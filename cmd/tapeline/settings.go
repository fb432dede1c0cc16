package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-playground/validator/v10"

	"tapeline/db"
)

// settings are what serve, demo, migrate and keys are told by flags or, where
// a flag is not given, by the environment.
type settings struct {
	Addr            string        `validate:"listen" flag:"addr"`
	MetricsAddr     string        `validate:"omitempty,listen" flag:"metrics-addr"`
	PublicURL       string        `validate:"omitempty,http_url" flag:"public-url"`
	Database        string        `validate:"omitempty,startswith=postgres" flag:"database"`
	Data            string        `validate:"required" flag:"data"`
	Conns           int           `validate:"min=4,max=1000" flag:"db-conns"`
	Migrate         bool          `flag:"migrate"`
	Rate            float64       `validate:"min=0" flag:"rate"`
	DraftWorkers    int           `validate:"min=0,max=1000" flag:"draft-workers"`
	DeliverWorkers  int           `validate:"min=0,max=10000" flag:"deliver-workers"`
	PrivateWebhooks bool          `flag:"private-webhooks"`
	Drain           time.Duration `validate:"min=0" flag:"drain"`
	Grace           time.Duration `validate:"min=1s" flag:"grace"`
	LogLevel        slog.Level    `flag:"log-level"`
	sealer          db.Sealer
	wrong           []error // what the environment holds that cannot be read
}

// databaseFlags are those of every command that needs the database.
func (s *settings) databaseFlags(fs *flag.FlagSet) {
	fs.StringVar(&s.Database, "database", env("DATABASE_URL", ""), "`URL` of the Postgres to use; without it a private one runs in the data folder [DATABASE_URL]")
	fs.StringVar(&s.Data, "data", env("TAPELINE_DATA", "tapeline-data"), "data `folder` of the private Postgres [TAPELINE_DATA]")
	fs.IntVar(&s.Conns, "db-conns", fromEnv(s, "TAPELINE_DB_CONNS", 24, strconv.Atoi), "most database connections [TAPELINE_DB_CONNS]")
	fs.TextVar(&s.LogLevel, "log-level", fromEnv(s, "TAPELINE_LOG_LEVEL", slog.LevelInfo, parseLevel), "debug, info, warn or error [TAPELINE_LOG_LEVEL]")
}

// serveFlags are those of commands that serve.
func (s *settings) serveFlags(fs *flag.FlagSet) {
	s.databaseFlags(fs)
	fs.StringVar(&s.Addr, "addr", env("TAPELINE_ADDR", "127.0.0.1:8080"), "`host:port` to listen on [TAPELINE_ADDR]")
	fs.StringVar(&s.MetricsAddr, "metrics-addr", env("TAPELINE_METRICS_ADDR", ""), "`host:port` for /metrics and profiles alone; without it the API serves the metrics [TAPELINE_METRICS_ADDR]")
	fs.StringVar(&s.PublicURL, "public-url", env("TAPELINE_PUBLIC_URL", ""), "`URL` by which callers reach the API, for the links it hands out; default http:// and addr [TAPELINE_PUBLIC_URL]")
	fs.BoolVar(&s.Migrate, "migrate", fromEnv(s, "TAPELINE_MIGRATE", false, strconv.ParseBool), "bring the schema up to date before serving; always done on a private Postgres [TAPELINE_MIGRATE]")
	fs.Float64Var(&s.Rate, "rate", fromEnv(s, "TAPELINE_RATE", 500.0, parseFloat), "`requests` a second allowed to each key, and to each address without one, twice as many at once; 0 for no limit [TAPELINE_RATE]")
	fs.IntVar(&s.DraftWorkers, "draft-workers", fromEnv(s, "TAPELINE_DRAFT_WORKERS", 0, strconv.Atoi), "drafts at once; 0 is two a core [TAPELINE_DRAFT_WORKERS]")
	fs.IntVar(&s.DeliverWorkers, "deliver-workers", fromEnv(s, "TAPELINE_DELIVER_WORKERS", 64, strconv.Atoi), "webhook deliveries at once [TAPELINE_DELIVER_WORKERS]")
	fs.BoolVar(&s.PrivateWebhooks, "private-webhooks", fromEnv(s, "TAPELINE_PRIVATE_WEBHOOKS", false, strconv.ParseBool), "for development: deliver webhooks over plain http and to private addresses [TAPELINE_PRIVATE_WEBHOOKS]")
	fs.DurationVar(&s.Drain, "drain", fromEnv(s, "TAPELINE_DRAIN", 0, time.ParseDuration), "`time` to go on serving after a signal to stop, while /readyz says no, so that a balancer looks elsewhere [TAPELINE_DRAIN]")
	fs.DurationVar(&s.Grace, "grace", fromEnv(s, "TAPELINE_GRACE", 20*time.Second, time.ParseDuration), "`time` for requests and jobs under way to end in, before they are handed back [TAPELINE_GRACE]")
}

const secretKeyAbout = `
TAPELINE_SECRET_KEY seals webhook secrets and link keys in the database: base64
of 32 random bytes, the current key first and former ones after commas. It has
no flag, so that it is not seen in a list of processes.`

// check finds every setting that cannot be, by the name of its flag, and reads
// the secret key.
func (s *settings) check() error {
	wrong := slices.Clone(s.wrong)
	v := validator.New(validator.WithRequiredStructEnabled())
	// The validator's own hostname_port has no port 0 and no empty host.
	if err := v.RegisterValidation("listen", func(f validator.FieldLevel) bool {
		_, err := net.ResolveTCPAddr("tcp", f.Field().String())
		return err == nil
	}); err != nil {
		return err
	}
	if found, ok := errors.AsType[validator.ValidationErrors](v.Struct(s)); ok {
		for _, f := range found {
			wrong = append(wrong, fmt.Errorf("-%s: %q: %s", flagName(*s, f.StructField()), fmt.Sprint(f.Value()), expectation(f)))
		}
	}
	var err error
	if s.sealer, err = db.NewSealer(os.Getenv("TAPELINE_SECRET_KEY")); err != nil {
		wrong = append(wrong, fmt.Errorf("TAPELINE_SECRET_KEY: %w", err))
	}
	if s.PublicURL == "" {
		s.PublicURL = "http://" + s.Addr
	}
	return errors.Join(wrong...)
}

func expectation(f validator.FieldError) string {
	switch f.Tag() {
	case "listen":
		return "want host:port"
	case "http_url":
		return "want an http or https URL"
	case "startswith":
		return "want a URL that begins with postgres://"
	case "min":
		return "at least " + f.Param()
	case "max":
		return "at most " + f.Param()
	default:
		return "required"
	}
}

// parseSettings reads flags and holds them against their limits. Where ok is
// false the command is over with the code.
func parseSettings(fs *flag.FlagSet, s *settings, args []string, stderr io.Writer) (code int, ok bool) {
	if _, code, ok := parseFlags(fs, args); !ok {
		return code, false
	}
	if err := s.check(); err != nil {
		fmt.Fprintf(stderr, "tapeline %s: %s\n", fs.Name(), strings.ReplaceAll(err.Error(), "\n", "\n  "))
		return exitUsage, false
	}
	return exitDone, true
}

// env is a default from the environment.
func env(name, otherwise string) string {
	if v, ok := os.LookupEnv(name); ok {
		return v
	}
	return otherwise
}

// fromEnv is a default from the environment that is not text. What cannot be
// read is a fault of the settings, told of by check with all others.
func fromEnv[T any](s *settings, name string, otherwise T, parse func(string) (T, error)) T {
	text := os.Getenv(name)
	if text == "" {
		return otherwise
	}
	v, err := parse(text)
	if err != nil {
		s.wrong = append(s.wrong, fmt.Errorf("%s: %q cannot be read as %T", name, text, otherwise))
		return otherwise
	}
	return v
}

func parseFloat(text string) (float64, error) { return strconv.ParseFloat(text, 64) }

func parseLevel(text string) (level slog.Level, err error) {
	err = level.UnmarshalText([]byte(text))
	return level, err
}

// flagName is the flag of a field of settings.
func flagName(s settings, field string) string {
	if f, ok := reflect.TypeOf(s).FieldByName(field); ok {
		return f.Tag.Get("flag")
	}
	return field
}
