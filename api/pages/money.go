package pages

import (
	"strconv"
	"strings"

	"ripeline/calc"
	"ripeline/orders"
)

// money is an amount in the workshop's currency: "12.50 EUR".
func (w words) money(m calc.Money) string { return orders.MoneyText(m, w.currency) }

// moneyInput is an amount in the workshop's currency, empty for none.
func (f *form) moneyInput(name, label string, m calc.Money) field {
	value := ""
	if m != 0 {
		value = orders.MoneyValue(m, f.words.currency)
	}
	return f.quantityInput(name, label, value, f.words.currency)
}

// money is an amount with a point or a comma, of no more decimals than the
// currency has; 0 when nothing was typed.
func (f *form) money(name string) calc.Money {
	text := f.text(name)
	if text == "" {
		return 0
	}
	digits := orders.MoneyDigits(f.words.currency)
	whole, part, _ := strings.Cut(strings.Replace(text, ",", ".", 1), ".")
	n, err := strconv.ParseInt(whole+part+strings.Repeat("0", max(0, digits-len(part))), 10, 64)
	if err != nil || whole == "" || len(part) > digits || n < 0 {
		f.fail(name, "must be an amount such as "+orders.MoneyValue(1250, f.words.currency)+", without the currency")
		return 0
	}
	return calc.Money(n)
}
