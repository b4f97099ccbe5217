package certificate

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"net"
	"time"
)

// handshake joins a phone to a server that it reached at address. It returns
// the certificate that the phone was shown, or what either side had against it.
func handshake(server *tls.Config, address string, phone *tls.Config) (*x509.Certificate, error) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	defer listener.Close()
	theirs, err := net.Dial("tcp", listener.Addr().String())
	if err != nil {
		return nil, err
	}
	defer theirs.Close()
	ours, err := listener.Accept()
	if err != nil {
		return nil, err
	}
	deadline := time.Now().Add(10 * time.Second)
	if err := errors.Join(ours.SetDeadline(deadline), theirs.SetDeadline(deadline)); err != nil {
		return nil, err
	}
	served := make(chan error, 1)
	go func() {
		served <- tls.Server(arrival{ours, address}, server).Handshake()
		ours.Close()
	}()
	conn := tls.Client(theirs, phone)
	phoneErr := conn.Handshake()
	if err := errors.Join(phoneErr, <-served); err != nil {
		return nil, err
	}
	return conn.ConnectionState().PeerCertificates[0], nil
}

// An arrival is a connection that came in at an address of the machine.
type arrival struct {
	net.Conn
	address string
}

func (a arrival) LocalAddr() net.Addr { return &net.TCPAddr{IP: net.ParseIP(a.address), Port: 8443} }
