package orders

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
)

// newSecret is a random token of 256 bits, safe in a URL, and the hash under
// which it is stored. A plain hash suffices since the token can not be guessed.
func newSecret() (token string, hash []byte) {
	var raw [32]byte
	_, _ = rand.Read(raw[:]) // never fails since Go 1.24
	token = base64.RawURLEncoding.EncodeToString(raw[:])
	return token, hashSecret(token)
}

func hashSecret(token string) []byte {
	sum := sha256.Sum256([]byte(token))
	return sum[:]
}
