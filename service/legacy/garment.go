package legacy

import "encoding/hex"

// mustHash decodes a hash that the program wrote.
func mustHash(text string) []byte {
	hash, err := hex.DecodeString(text)
	if err != nil {
		panic("not a hash: " + text)
	}
	return hash
}
