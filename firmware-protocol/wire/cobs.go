package wire

import (
	"bytes"
	"errors"
)

// Why bytes cannot be the COBS form of anything.
var (
	errStuffedEmpty = errors.New("COBS: no bytes; even empty data has the form 01")
	errStuffedZero  = errors.New("COBS: a zero byte inside the data; split the stream at zero bytes first")
	errStuffedShort = errors.New("COBS: a block runs past the end of the data; bytes were lost or changed")
)

// AppendStuffed appends the COBS form of src to dst, without a delimiter, and returns the longer slice. The form holds no
// zero byte and is at most len(src)+ceil(len(src)/254) bytes, at least 1. Where the data end with a full run of
// 254 nonzero bytes nothing follows the run. dst and src must not overlap.
//
// Source: Cheshire and Baker, Consistent Overhead Byte Stuffing, IEEE/ACM Transactions on Networking 7(2), 1999.
func AppendStuffed(dst, src []byte) []byte {
	codeAt := len(dst)
	dst = append(dst, 0)
	for _, b := range src {
		if len(dst)-codeAt == 0xFF { // the block is full and stands for no zero
			dst[codeAt] = 0xFF
			codeAt = len(dst)
			dst = append(dst, 0)
		}
		if b == 0 {
			dst[codeAt] = byte(len(dst) - codeAt)
			codeAt = len(dst)
		}
		dst = append(dst, b) // a zero is the place of the next code
	}
	dst[codeAt] = byte(len(dst) - codeAt)
	return dst
}

// AppendUnstuffed appends to dst the data whose COBS form is src (without a delimiter). It accepts both forms of data that
// end with a full run of 254 nonzero bytes: with and without a last 01. It refuses empty input, a zero byte
// inside src, and a block that runs past the end of src; dst is then returned as it was. dst and src must not overlap.
func AppendUnstuffed(dst, src []byte) ([]byte, error) {
	if bytes.IndexByte(src, 0) >= 0 {
		return dst, errStuffedZero
	}
	return appendUnstuffed(dst, src)
}

// appendUnstuffed is AppendUnstuffed for src that is known to hold no zero byte.
func appendUnstuffed(dst, src []byte) ([]byte, error) {
	if len(src) == 0 {
		return dst, errStuffedEmpty
	}
	start := len(dst)
	for {
		code := int(src[0])
		if code > len(src) {
			return dst[:start], errStuffedShort
		}
		dst = append(dst, src[1:code]...)
		src = src[code:]
		if len(src) == 0 {
			return dst, nil
		}
		if code < 0xFF {
			dst = append(dst, 0)
		}
	}
}
