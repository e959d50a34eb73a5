package calc

import (
	_ "embed"
	"encoding/csv"
	"math/big"
	"strings"
	"sync"
)

// oilsCSV is the usual oils with the range of their saponification values and
// a middling iodine value, each with its source and status.
//
//go:embed oils.csv
var oilsCSV string

// Status says how far a figure is to be trusted.
type Status string

// The statuses of a figure. FromMemory is a default that the maker must confirm.
const (
	Published  Status = "published"
	SecondHand Status = "second-hand"
	FromMemory Status = "from memory"
)

// KnownOil is an oil of the embedded table. Its ingredient name for labels and
// its iodine value are from memory throughout.
type KnownOil struct {
	Name             string
	LabelName        string
	SV               SVRange
	WaxEster         bool
	IodineHundredths int64 // iodine value
	// Density at 20 °C where OilDensity's formula does not hold, else 0: castor
	// oil's hydroxyl groups make it denser (British Pharmacopoeia 1993, relative
	// density 0.952 to 0.965; second-hand).
	Density Density
	Source  string
	Status  Status // of the saponification value
}

// KnownOils is the embedded table in its own order; the slice is the caller's.
func KnownOils() []KnownOil { return append([]KnownOil(nil), knownOils()...) }

var knownOils = sync.OnceValue(func() []KnownOil {
	rows, err := csv.NewReader(strings.NewReader(oilsCSV)).ReadAll()
	if err != nil {
		panic("calc: the embedded table of oils is broken: " + err.Error())
	}
	oils := make([]KnownOil, 0, len(rows))
	for _, row := range rows[1:] {
		oils = append(oils, KnownOil{
			Name:      row[0],
			LabelName: row[1],
			SV: SVRange{
				Low:  SV(tableNumber(row[2], int64(MilligramPerGram))),
				Used: SV(tableNumber(row[3], int64(MilligramPerGram))),
				High: SV(tableNumber(row[4], int64(MilligramPerGram))),
			},
			WaxEster:         row[5] == "yes",
			IodineHundredths: tableNumber(row[6], 100),
			Source:           row[7],
			Status:           Status(row[8]),
			Density:          Density(optionalNumber(row[10], int64(GramPerML))),
		})
	}
	return oils
})

// optionalNumber is tableNumber of what may be left empty, for 0.
func optionalNumber(text string, unit int64) int64 {
	if text == "" {
		return 0
	}
	return tableNumber(text, unit)
}

// tableNumber reads a decimal of an embedded table as a whole number of 1/unit.
// The tables are part of the program, so a bad one is a fault of its own.
func tableNumber(text string, unit int64) int64 {
	r, ok := new(big.Rat).SetString(text)
	if !ok {
		panic("calc: an embedded table holds " + text + " where a number must be")
	}
	return rounded(r.Mul(r, big.NewRat(unit, 1)))
}
