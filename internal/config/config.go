// Package config reads the settings from the environment, once, at start. It
// imports only the standard library.
package config

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Config is everything that differs between installations.
type Config struct {
	Port        int       // PORT, 1–65535, default 8080
	Listen      string    // ROPEWALK_LISTEN; default loopback for plain HTTP, everywhere with TLS
	DataDir     string    // ROPEWALK_DATA, default ./var
	DatabaseURL string    // DATABASE_URL; empty: the private server
	OwnerURL    string    // ROPEWALK_OWNER_URL: the role that migrates; empty: DatabaseURL's
	TLS         string    // ROPEWALK_TLS, as package certificate reads it
	Proxy       bool      // ROPEWALK_PROXY=yes: a proxy in front keeps connections private
	DemoNow     time.Time // DEMO_NOW, a day or RFC 3339; zero: the demo's own day
}

// Load reads a Config through getenv, usually [os.Getenv]. Its error names
// every setting that is wrong and what to write instead.
func Load(getenv func(string) string) (Config, error) {
	c := Config{
		Port:        8080,
		Listen:      getenv("ROPEWALK_LISTEN"),
		DataDir:     getenv("ROPEWALK_DATA"),
		DatabaseURL: getenv("DATABASE_URL"),
		OwnerURL:    getenv("ROPEWALK_OWNER_URL"),
		TLS:         strings.TrimSpace(getenv("ROPEWALK_TLS")),
	}
	var errs []error
	if c.DataDir == "" {
		c.DataDir = "./var"
	}
	if text := getenv("PORT"); text != "" {
		port, err := strconv.Atoi(text)
		if err != nil || port < 0 || port > 65535 {
			errs = append(errs, fmt.Errorf("PORT is %q. Write a number from 0 to 65535, like 8080", text))
		}
		c.Port = port
	}
	switch text := getenv("ROPEWALK_PROXY"); text {
	case "", "no":
	case "yes":
		c.Proxy = true
	default:
		errs = append(errs, fmt.Errorf("ROPEWALK_PROXY is %q. Write yes or no", text))
	}
	if text := getenv("DEMO_NOW"); text != "" {
		at, err := dayOrTime(text)
		if err != nil {
			errs = append(errs, fmt.Errorf("DEMO_NOW is %q. Write a day like 2026-11-04, or a time like 2026-11-04T12:00:00Z", text))
		}
		c.DemoNow = at
	}
	if c.OwnerURL != "" && c.DatabaseURL == "" {
		errs = append(errs, errors.New("ROPEWALK_OWNER_URL is set without DATABASE_URL. Set both, or neither"))
	}
	if c.Listen == "" && c.TLS == "" {
		c.Listen = "127.0.0.1" // plain HTTP is for this machine alone, unless asked for
	}
	return c, errors.Join(errs...)
}

// Names lists the settings, for documents and for finding a mistyped one.
func Names() []string {
	return []string{"PORT", "ROPEWALK_LISTEN", "ROPEWALK_DATA", "DATABASE_URL", "ROPEWALK_OWNER_URL", "ROPEWALK_TLS", "ROPEWALK_PROXY", "DEMO_NOW"}
}

// Mistyped returns the names in environ, lines like NAME=value, that look like
// settings of ours and are none.
func Mistyped(environ []string) []string {
	var names []string
	for _, line := range environ {
		name, _, _ := strings.Cut(line, "=")
		if strings.HasPrefix(name, "ROPEWALK_") && !strings.HasPrefix(name, "ROPEWALK_TEST_") && !slices.Contains(Names(), name) {
			names = append(names, name)
		}
	}
	return names
}

func dayOrTime(text string) (time.Time, error) {
	if day, err := time.Parse(time.DateOnly, text); err == nil {
		return day.Add(12 * time.Hour), nil
	}
	return time.Parse(time.RFC3339, text)
}
