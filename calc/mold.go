package calc

// MoldKind says how a mold's soap is parted into pieces.
type MoldKind string

// The kinds of mold.
const (
	MoldLoaf   MoldKind = "loaf"   // one long block, sliced across its length
	MoldSlab   MoldKind = "slab"   // one flat block, cut in a grid
	MoldCavity MoldKind = "cavity" // separate hollows, one cast each
)

// Limits of a mold; common practice with wide room.
const (
	minMoldSide     = Millimetre
	maxCavities     = 10_000
	minCavityVolume = Millilitre
	maxCavityVolume = 20 * Litre
)

// Mold is a mold's inside. For a loaf or slab, Length, Width and Depth are the
// inner size, and Cavities and CavityVolume stay zero. For a cavity mold they
// are the size of one hollow at its widest (Depth may be zero when it is not
// known), Cavities counts the hollows and CavityVolume is what one holds.
type Mold struct {
	Kind         MoldKind
	Length       Length
	Width        Length
	Depth        Length
	Cavities     int
	CavityVolume Volume
}

// Volume is what the mold holds when brim-full; zero for a mold that Validate
// refuses.
func (m Mold) Volume() Volume {
	switch {
	case m.Validate() != nil:
		return 0
	case m.Kind == MoldCavity:
		return Volume(m.Cavities) * m.CavityVolume
	}
	return boxVolume(m.Length, m.Width, m.Depth)
}

// Validate is nil for a mold that can hold soap, else FieldErrors at kind,
// length, width, depth, cavities and cavity_volume.
func (m Mold) Validate() error {
	var errs FieldErrors
	switch m.Kind {
	case MoldLoaf, MoldSlab:
		m.checkSide(&errs, "depth", m.Depth)
		if m.Cavities != 0 || m.CavityVolume != 0 {
			errs.add("cavities", "belong to a cavity mold; leave them out for a %s", m.Kind)
		}
	case MoldCavity:
		m.checkCavities(&errs)
	default:
		errs.add("kind", "must be loaf, slab or cavity")
	}
	m.checkSide(&errs, "length", m.Length)
	m.checkSide(&errs, "width", m.Width)
	return errs.Err()
}

func (m Mold) checkSide(errs *FieldErrors, field string, side Length) {
	if side < minMoldSide || side > maxLength {
		errs.add(field, "must lie between %s and %s, measured inside the mold", minMoldSide, maxLength)
	}
}

func (m Mold) checkCavities(errs *FieldErrors) {
	if m.Depth != 0 {
		m.checkSide(errs, "depth", m.Depth)
	}
	box, measured := m.hollowBox()
	if m.Cavities < 1 || m.Cavities > maxCavities {
		errs.add("cavities", "must lie between 1 and %d", maxCavities)
	}
	if m.CavityVolume < minCavityVolume || m.CavityVolume > maxCavityVolume {
		errs.add("cavity_volume", "must lie between %s and %s", minCavityVolume, maxCavityVolume)
	} else if measured && m.CavityVolume > box {
		errs.add("cavity_volume", "is more than length x width x depth; measure the cavity again")
	}
}

// hollowBox is the box around one cavity; measured is false when a side is
// missing or impossible.
func (m Mold) hollowBox() (box Volume, measured bool) {
	for _, side := range []Length{m.Length, m.Width, m.Depth} {
		if side < minMoldSide || side > maxLength {
			return 0, false
		}
	}
	return boxVolume(m.Length, m.Width, m.Depth), true
}

// boxVolume is a x b x c, rounded to the microlitre; sides at most maxLength.
func boxVolume(a, b, c Length) Volume {
	const cubicMicrometresPerMicrolitre = 1_000_000_000
	return Volume(mulDiv(int64(a)*int64(b), int64(c), cubicMicrometresPerMicrolitre))
}
