package calc

import "fmt"

// maxMolds bounds the molds of one batch.
const maxMolds = 1_000

// MoldFill is a number of equal molds, each poured to a share of its volume.
type MoldFill struct {
	Mold  Mold
	Count int
	Share PPM
}

// Filling is how a batter goes into molds in the order given. Left is batter
// that found no room, Missing the batter that the molds still want; at most one
// of them is not zero.
type Filling struct {
	Wanted  Volume // what the molds take at their shares
	Poured  []Pour // one per MoldFill
	Left    Batter
	Missing Batter
}

// Pour is what one MoldFill got, over all its molds.
type Pour struct {
	Mass   Mass
	Volume Volume
}

// WantedVolume is the batter that the molds take at their shares. It gives
// FieldErrors at molds, molds[i].mold.*, molds[i].count and molds[i].share.
func WantedVolume(molds []MoldFill) (Volume, error) {
	if err := checkFills(molds); err != nil {
		return 0, err
	}
	var total Volume
	for _, f := range molds {
		total += f.volume()
	}
	return total, nil
}

// FillMolds pours b into the molds in turn. Masses add up to b.Mass exactly,
// missing batter aside. Errors as for WantedVolume, and at batter for none.
func FillMolds(b Batter, molds []MoldFill) (Filling, error) {
	wanted, err := WantedVolume(molds)
	if err != nil {
		return Filling{}, err
	}
	if err := b.check(); err != nil {
		return Filling{}, err
	}
	out := Filling{Wanted: wanted, Poured: make([]Pour, len(molds))}
	room := b.Volume
	parts := make([]int64, len(molds)+1)
	for i, f := range molds {
		out.Poured[i].Volume = min(room, f.volume())
		room -= out.Poured[i].Volume
		parts[i] = int64(out.Poured[i].Volume)
	}
	parts[len(molds)] = int64(room)
	masses := apportion(b.Mass, parts)
	for i := range molds {
		out.Poured[i].Mass = masses[i]
	}
	out.Left = Batter{Mass: masses[len(molds)], Volume: room}
	if short := wanted - b.Volume; short > 0 {
		out.Missing = Batter{Mass: b.Density().MassOf(short), Volume: short}
	}
	return out, nil
}

// check refuses what no mix of fats and lye solution can be.
func (b Batter) check() error {
	if b.Mass <= 0 || b.Mass > maxEntries*maxMass || b.Volume <= 0 || b.Volume > maxEntries*maxVolume {
		return fieldErr("batter", "has no mass or no volume; enter the recipe first")
	}
	if d := b.Density(); d < GramPerML/2 || d > 3*GramPerML {
		return fieldErr("batter", "weighs %s, which no batter does; check the densities", d)
	}
	return nil
}

// BestForRest is the index among spare molds of the one that the left-over
// batter fills best: at least minShare full, and leaving the least over; the first among equals.
// ok is false when none suits.
func BestForRest(left Volume, spare []Mold, minShare PPM) (index int, ok bool) {
	var least Volume
	for i, m := range spare {
		volume := m.Volume()
		if volume == 0 || left < minShare.OfVolume(volume) {
			continue
		}
		if rest := max(0, left-volume); !ok || rest < least {
			index, ok, least = i, true, rest
		}
	}
	return index, ok
}

// ScaleOils is the oils in the same proportions for a batter of volume to
// instead of from. The scaled masses add up to the scaled total, rounded to the
// milligram; each lies within a milligram of its own share. Compute the lye anew from the
// result. It gives FieldErrors at oils and volume.
func ScaleOils(oils []Oil, from, to Volume) ([]Oil, error) {
	var errs FieldErrors
	checkOils(&errs, oils)
	if from <= 0 || to <= 0 || from > maxEntries*maxVolume || to > maxEntries*maxVolume {
		errs.add("volume", "must be more than 0; enter a recipe and a mold with room")
	}
	if err := errs.Err(); err != nil {
		return nil, err
	}
	weights := make([]int64, len(oils))
	for i, o := range oils {
		weights[i] = int64(o.Mass)
	}
	total := LyeRecipe{Oils: oils}.oilMass()
	if float64(total)*float64(to)/float64(from) > float64(maxMass) {
		return nil, fieldErr("volume", "asks for more than %s of oils; use smaller or fewer molds", maxMass)
	}
	scaled := append([]Oil(nil), oils...)
	for i, m := range apportion(Mass(mulDiv(int64(total), int64(to), int64(from))), weights) {
		scaled[i].Mass = m
	}
	return scaled, nil
}

func (f MoldFill) volume() Volume {
	return f.Share.OfVolume(f.Mold.Volume()) * Volume(f.Count)
}

func checkFills(molds []MoldFill) error {
	var errs FieldErrors
	if len(molds) == 0 || len(molds) > maxEntries {
		errs.add("molds", "pick between 1 and %d molds", maxEntries)
	}
	for i, f := range molds {
		field := fmt.Sprintf("molds[%d]", i)
		errs = append(errs, fieldErrorsOf(f.Mold.Validate()).Under(field+".mold")...)
		if f.Count < 1 || f.Count > maxMolds {
			errs.add(field+".count", "must lie between 1 and %d", maxMolds)
		}
		if f.Share <= 0 || f.Share > Whole {
			errs.add(field+".share", "must be more than 0 and at most 100 %%")
		}
	}
	return errs.Err()
}
