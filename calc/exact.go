package calc

import (
	"math/big"
	"math/bits"
	"strings"
)

// mulDiv is a*b/c without overflow on the way, rounded half away from zero.
// c must be positive. A result beyond int64 panics: callers bound their inputs.
func mulDiv(a, b, c int64) int64 {
	q, r := mulQuo(a, b, c)
	if r >= uint64(c)-r {
		q++
	}
	return signed(q, (a < 0) != (b < 0))
}

// mulDivUp is a*b/c rounded up, for a, b >= 0 and c > 0.
func mulDivUp(a, b, c int64) int64 {
	q, r := mulQuo(a, b, c)
	if r > 0 {
		q++
	}
	return signed(q, false)
}

func mulQuo(a, b, c int64) (quo, rem uint64) {
	if c <= 0 {
		panic("calc: division by a value that is not positive")
	}
	hi, lo := bits.Mul64(magnitude(a), magnitude(b))
	return bits.Div64(hi, lo, uint64(c))
}

func magnitude(v int64) uint64 {
	if v < 0 {
		return -uint64(v)
	}
	return uint64(v)
}

func signed(v uint64, negative bool) int64 {
	if v > 1<<63-1 {
		panic("calc: result beyond the range of a 64-bit integer")
	}
	if negative {
		return -int64(v)
	}
	return int64(v)
}

// roundRat rounds half away from zero; ok is false beyond int64.
func roundRat(r *big.Rat) (v int64, ok bool) {
	num := new(big.Int).Lsh(new(big.Int).Abs(r.Num()), 1)
	num.Add(num, r.Denom())
	q := num.Quo(num, new(big.Int).Lsh(r.Denom(), 1))
	if r.Sign() < 0 {
		q.Neg(q)
	}
	return q.Int64(), q.IsInt64()
}

// rounded is roundRat for values that the callers' limits keep within int64.
func rounded(r *big.Rat) int64 {
	v, ok := roundRat(r)
	if !ok {
		panic("calc: result beyond the range of a 64-bit integer")
	}
	return v
}

// decimal writes num/den with at most the given decimals, half away from zero.
func decimal(num, den int64, decimals int) string {
	return big.NewRat(num, den).FloatString(decimals)
}

// trimmed is decimal without trailing zeros.
func trimmed(num, den int64, decimals int) string {
	s := decimal(num, den, decimals)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}
