package orders

import (
	"fmt"

	"golang.org/x/text/currency"

	"ripeline/calc"
)

// MoneyText writes an amount with its currency: "12.50 EUR".
func MoneyText(m calc.Money, code string) string { return MoneyValue(m, code) + " " + code }

// MoneyValue writes an amount without its currency: "12.50".
func MoneyValue(m calc.Money, code string) string {
	digits := MoneyDigits(code)
	if digits == 0 {
		return fmt.Sprint(int64(m))
	}
	unit := int64(1)
	for range digits {
		unit *= 10
	}
	return fmt.Sprintf("%d.%0*d", int64(m)/unit, digits, int64(m)%unit)
}

// MoneyDigits is how many decimals the currency has: 2 for EUR, 0 for JPY. An
// unknown code has two, as most currencies.
func MoneyDigits(code string) int {
	unit, err := currency.ParseISO(code)
	if err != nil {
		return 2
	}
	digits, _ := currency.Standard.Rounding(unit)
	return digits
}
