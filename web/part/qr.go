package part

import (
	"fmt"
	"strings"

	"rsc.io/qr"
)

// A QRCode is a code to be read by a phone's camera, as the path of an SVG
// picture Size units wide and high.
type QRCode struct {
	Text string
	Path string
	Size int
}

// quiet is the empty edge that the standard asks for, in modules (ISO/IEC 18004).
const quiet = 4

// QR encodes text at the medium level of error correction.
func QR(text string) (QRCode, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return QRCode{}, fmt.Errorf("encoding a QR code: %w", err)
	}
	var path strings.Builder
	for y := range code.Size {
		for x := range code.Size {
			if code.Black(x, y) {
				fmt.Fprintf(&path, "M%d %dh1v1h-1z", x+quiet, y+quiet)
			}
		}
	}
	return QRCode{Text: text, Path: path.String(), Size: code.Size + 2*quiet}, nil
}
