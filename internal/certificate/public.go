package certificate

import (
	"crypto/tls"

	"golang.org/x/crypto/acme/autocert"
)

// Public returns a server's configuration for TLS 1.2 and later whose
// certificates come from a public authority (Let's Encrypt, by ACME, RFC 8555)
// and are kept in the folder dir. The authority must reach this server at port
// 443 of each of names; it then proves by the TLS handshake alone (RFC 8737).
// A certificate is fetched when it is first asked for, and renewed by itself.
// Whoever calls Public accepts the authority's terms.
func Public(dir string, names []string) (*tls.Config, error) {
	if err := makeFolder(dir); err != nil {
		return nil, err
	}
	manager := &autocert.Manager{
		Prompt:     autocert.AcceptTOS,
		Cache:      autocert.DirCache(dir),
		HostPolicy: autocert.HostWhitelist(names...),
	}
	config := manager.TLSConfig()
	config.MinVersion = tls.VersionTLS12
	return config, nil
}
