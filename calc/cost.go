package calc

import "fmt"

// Money is an amount in the smallest unit of the workshop's currency.
type Money int64

// maxMoney bounds one price so that sums stay within 64 bits.
const maxMoney Money = 1_000_000_000

// Material is an amount of an ingredient at Price for each Per of it.
type Material struct {
	Mass  Mass
	Price Money
	Per   Mass
}

// BatchCost is what a batch is costed from.
type BatchCost struct {
	Materials  []Material
	PerPiece   Money // packaging of one sound piece
	Minutes    int   // hands-on work on the batch
	HourlyRate Money
	Pieces     int // sound pieces
}

// Cost is what a batch costs, in parts that add up to Total.
type Cost struct {
	Materials Money
	Packaging Money
	Labour    Money
	Total     Money
	Piece     Money // Total per piece, rounded up so that Piece x Pieces covers it
}

// CostOf is the cost of a batch. Each material and the labour are rounded to
// the smallest unit one by one, half up. Errors at materials[i].mass, .price, .per, per_piece,
// minutes, hourly_rate and pieces.
func CostOf(b BatchCost) (Cost, error) {
	if err := b.check(); err != nil {
		return Cost{}, err
	}
	var c Cost
	for _, m := range b.Materials {
		c.Materials += Money(mulDiv(int64(m.Mass), int64(m.Price), int64(m.Per)))
	}
	c.Packaging = b.PerPiece * Money(b.Pieces)
	c.Labour = Money(mulDiv(int64(b.HourlyRate), int64(b.Minutes), 60))
	c.Total = c.Materials + c.Packaging + c.Labour
	c.Piece = Money(mulDivUp(int64(c.Total), 1, int64(b.Pieces)))
	return c, nil
}

func (b BatchCost) check() error {
	const mostPieces, mostMinutes = 1_000_000, 100_000
	var errs FieldErrors
	if len(b.Materials) > maxEntries {
		errs.add("materials", "a batch has at most %d materials", maxEntries)
	}
	for i, m := range b.Materials {
		field := fmt.Sprintf("materials[%d]", i)
		checkMass(&errs, field+".mass", m.Mass)
		checkMoney(&errs, field+".price", m.Price)
		if m.Per < Gram || m.Per > maxMass {
			errs.add(field+".per", "must lie between 1 g and %s", maxMass)
		}
	}
	checkMoney(&errs, "per_piece", b.PerPiece)
	checkMoney(&errs, "hourly_rate", b.HourlyRate)
	if b.Minutes < 0 || b.Minutes > mostMinutes {
		errs.add("minutes", "must lie between 0 and %d", mostMinutes)
	}
	if b.Pieces < 1 || b.Pieces > mostPieces {
		errs.add("pieces", "must lie between 1 and %d", mostPieces)
	}
	return errs.Err()
}

func checkMoney(errs *FieldErrors, field string, m Money) {
	if m < 0 || m > maxMoney {
		errs.add(field, "must not be negative nor above %d", maxMoney)
	}
}
