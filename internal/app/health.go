package app

import (
	"cmp"
	"context"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"io"
	"net"
	"net/http"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"ropewalk.example/internal/certificate"
	"ropewalk.example/internal/config"
	"ropewalk.example/internal/problem"
)

// healthWithin is how long a server may take to say that it is ready.
const healthWithin = 3 * time.Second

// health asks the server that these settings start whether it is ready.
func health(ctx context.Context, conf config.Config, stdout io.Writer) error {
	ctx, cancel := context.WithTimeout(ctx, healthWithin)
	defer cancel()
	at := net.JoinHostPort(cmp.Or(strings.NewReplacer("0.0.0.0", "127.0.0.1", "::", "::1").Replace(conf.Listen), "127.0.0.1"), strconv.Itoa(conf.Port))
	scheme, host, trusted, err := identity(conf, at)
	if err != nil {
		return err
	}
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: trusted, DialContext: func(ctx context.Context, network, _ string) (net.Conn, error) {
		return (&net.Dialer{}).DialContext(ctx, network, at)
	}}}
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, scheme+"://"+host+"/readyz", nil)
	if err != nil {
		return fmt.Errorf("asking the server: %w", err)
	}
	answer, err := client.Do(request)
	if err != nil {
		return problem.Wrap(err, problem.Unavailable, "No server answers at %s. Look at its log, or start it with ropewalk serve.", at)
	}
	defer answer.Body.Close()
	said, err := io.ReadAll(io.LimitReader(answer.Body, 200))
	if err != nil || answer.StatusCode != http.StatusOK {
		return problem.Wrap(err, problem.Unavailable, "The server at %s says: %s", at, strings.TrimSpace(string(said)))
	}
	fmt.Fprintln(stdout, strings.TrimSpace(string(said)))
	return nil
}

// identity returns by which scheme and name the server at an address is spoken
// to, and what vouches for it.
func identity(conf config.Config, at string) (scheme, host string, trusted *tls.Config, err error) {
	mode, names, err := certificate.Parse(conf.TLS)
	if err != nil {
		return "", "", nil, err
	}
	switch mode {
	case certificate.OwnAuthority:
		authority, err := certificate.Own(filepath.Join(conf.DataDir, "certificate"), names, time.Now)
		if err != nil {
			return "", "", nil, err
		}
		root, err := x509.ParseCertificate(authority.RootDER())
		if err != nil {
			return "", "", nil, fmt.Errorf("reading the gym's root certificate: %w", err)
		}
		roots := x509.NewCertPool()
		roots.AddCert(root)
		return "https", at, &tls.Config{RootCAs: roots, MinVersion: tls.VersionTLS12}, nil
	case certificate.PublicAuthority:
		return "https", names[0], &tls.Config{MinVersion: tls.VersionTLS12}, nil
	}
	return "http", at, nil, nil
}
