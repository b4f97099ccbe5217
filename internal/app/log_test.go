package app

import (
	"bytes"
	"log/slog"
	"strings"
	"testing"
)

func TestConnectionsAreLoggedWithoutTheirAddresses(t *testing.T) {
	var text bytes.Buffer
	log := connectionLog(newLog(&text, slog.LevelInfo))
	log.Printf("http: TLS handshake error from 192.168.1.23:51234: remote error: tls: unknown certificate")
	log.Printf("http: TLS handshake error from [fe80::1%%eth0]:443: EOF")
	log.Printf("http2: server: error reading preface from client 203.0.113.9:80: timeout awaiting preface")
	for _, address := range []string{"192.168", "fe80", "203.0"} {
		if strings.Contains(text.String(), address) {
			t.Errorf("the log tells of %s: %s", address, &text)
		}
	}
	if strings.Count(text.String(), "a browser: ") != 3 || !strings.Contains(text.String(), "unknown certificate") {
		t.Errorf("the log says %s", &text)
	}
}
