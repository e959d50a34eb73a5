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
		c.Materials += m.Cost()
	}
	c.Packaging = b.PerPiece * Money(b.Pieces)
	c.Labour = Money(mulDiv(int64(b.HourlyRate), int64(b.Minutes), 60))
	c.Total = c.Materials + c.Packaging + c.Labour
	c.Piece = Money(mulDivUp(int64(c.Total), 1, int64(b.Pieces)))
	return c, nil
}

// Cost is the material's part of the cost, rounded half up.
func (m Material) Cost() Money { return Money(mulDiv(int64(m.Mass), int64(m.Price), int64(m.Per))) }

// For is what n of the batch's pieces cost: each part is its share rounded
// half up, and the parts add up to Total. of is how many pieces the batch gives.
func (c Cost) For(n, of int) Cost {
	part := func(m Money) Money { return Money(mulDiv(int64(m), int64(n), int64(of))) }
	out := Cost{Materials: part(c.Materials), Packaging: part(c.Packaging), Labour: part(c.Labour)}
	out.Total = out.Materials + out.Packaging + out.Labour
	out.Piece = Money(mulDivUp(int64(out.Total), 1, int64(n)))
	return out
}

// PriceFor is the least price of one of n pieces at which they bring in total
// and the share markup of it on top: rounded up to the smallest unit.
func PriceFor(total Money, markup PPM, n int) Money {
	return Money(mulDivUp(int64(total), int64(Whole+markup), int64(Whole)*int64(n)))
}

func (b BatchCost) check() error {
	const mostMaterials, mostPieces, mostMinutes = 1000, 1_000_000, 100_000 // a lot is a material of its own
	var errs FieldErrors
	if len(b.Materials) > mostMaterials {
		errs.add("materials", "a batch has at most %d materials", mostMaterials)
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
