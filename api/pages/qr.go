package pages

import (
	"fmt"
	"strings"

	"rsc.io/qr"
)

// qrPicture is a QR code as one path of squares of side 1.
type qrPicture struct {
	Side int // with the quiet margin
	Path string
}

// qrMargin is the quiet zone that readers need, in squares (ISO/IEC 18004,
// from memory).
const qrMargin = 4

// drawQR encodes text; runs of dark squares in a row are drawn as one.
func drawQR(text string) (qrPicture, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return qrPicture{}, fmt.Errorf("draw QR code: %w", err)
	}
	var path strings.Builder
	for y := range code.Size {
		for x := 0; x < code.Size; x++ {
			run := 0
			for x+run < code.Size && code.Black(x+run, y) {
				run++
			}
			if run > 0 {
				fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", x+qrMargin, y+qrMargin, run, run)
				x += run
			}
		}
	}
	return qrPicture{Side: code.Size + 2*qrMargin, Path: path.String()}, nil
}
