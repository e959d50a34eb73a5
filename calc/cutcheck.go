package calc

// checkCut is nil when plan can be cut from mold.
func checkCut(mold Mold, plan CutPlan) error {
	errs := fieldErrorsOf(mold.Validate()).Under("mold")
	checkGap(&errs, "spacing", plan.Spacing)
	checkGap(&errs, "dressing_clear", plan.DressingClear)
	if plan.TrimEnds < 0 || plan.TrimEnds > maxLength {
		errs.add("trim_ends", "must lie between 0 and %s", maxLength)
	}
	if len(errs) > 0 {
		return errs
	}
	switch mold.Kind {
	case MoldLoaf:
		checkLoafPlan(&errs, mold, plan)
	case MoldSlab:
		checkSlabPlan(&errs, mold, plan)
	default:
		checkCount(&errs, "pieces_per_slice", plan.PiecesPerSlice)
		refuseUnused(&errs, mold.Kind, "thickness", plan.Thickness != 0)
		refuseUnused(&errs, mold.Kind, "trim_ends", plan.TrimEnds != 0)
		refuseUnused(&errs, mold.Kind, "rows", plan.Rows != 0)
		refuseUnused(&errs, mold.Kind, "columns", plan.Columns != 0)
	}
	if len(errs) == 0 {
		checkPieceSize(&errs, mold, plan)
	}
	return errs.Err()
}

func checkLoafPlan(errs *FieldErrors, mold Mold, plan CutPlan) {
	checkCount(errs, "pieces_per_slice", plan.PiecesPerSlice)
	refuseUnused(errs, mold.Kind, "rows", plan.Rows != 0)
	refuseUnused(errs, mold.Kind, "columns", plan.Columns != 0)
	usable := mold.Length - 2*plan.TrimEnds
	switch {
	case plan.Thickness < minThickness || plan.Thickness > maxThickness:
		errs.add("thickness", "must lie between %s and %s", minThickness, maxThickness)
	case usable <= 0:
		errs.add("trim_ends", "leaves nothing of a mold %s long; trim less than half of it at each end", mold.Length)
	case plan.Thickness > usable:
		errs.add("thickness", "is more than the %s left between the trims; cut thinner or trim less", usable)
	}
}

func checkSlabPlan(errs *FieldErrors, mold Mold, plan CutPlan) {
	checkCount(errs, "rows", plan.Rows)
	checkCount(errs, "columns", plan.Columns)
	refuseUnused(errs, mold.Kind, "thickness", plan.Thickness != 0)
	refuseUnused(errs, mold.Kind, "pieces_per_slice", plan.PiecesPerSlice != 0)
	if side := min(mold.Length, mold.Width); 2*plan.TrimEnds >= side {
		errs.add("trim_ends", "leaves nothing of a slab %s across; trim less than half of it at each edge", side)
	}
}

// checkPieceSize refuses pieces too thin to hold together, and dressing with
// nowhere to lie on their tops.
func checkPieceSize(errs *FieldErrors, mold Mold, plan CutPlan) {
	var piece Size
	field := "pieces_per_slice"
	switch mold.Kind {
	case MoldLoaf:
		piece = loafCut(mold, plan).Piece
		_, columns := sliceGrid(mold.Width, mold.Depth, plan.PiecesPerSlice)
		checkDressing(errs, plan, plan.Thickness, mold.Width/Length(columns))
	case MoldSlab:
		field = "rows"
		piece = slabCut(mold, plan).Piece
		long, wide := slabPiece(mold, plan)
		checkDressing(errs, plan, long, wide)
	default:
		piece = cavityCut(mold, plan).Piece
	}
	if piece.Short < minThickness {
		errs.add(field, "makes pieces only %s thin; the least is %s, so cut fewer", piece.Short, minThickness)
	}
}

func checkDressing(errs *FieldErrors, plan CutPlan, long, wide Length) {
	if 2*plan.DressingClear >= min(long, wide) {
		errs.add("dressing_clear", "leaves no room for dressing on a top of %s by %s; keep it under half of the shorter side", long, wide)
	}
}

func checkCount(errs *FieldErrors, field string, n int) {
	if n < 1 || n > maxPiecesAcross {
		errs.add(field, "must lie between 1 and %d", maxPiecesAcross)
	}
}

func checkGap(errs *FieldErrors, field string, gap Length) {
	if gap < 0 || gap > maxSpacing {
		errs.add(field, "must lie between 0 and %s", maxSpacing)
	}
}

func refuseUnused(errs *FieldErrors, kind MoldKind, field string, given bool) {
	if given {
		errs.add(field, "has no meaning for a %s mold; leave it empty", kind)
	}
}
