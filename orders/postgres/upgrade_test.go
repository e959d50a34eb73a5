package postgres_test

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"io/fs"
	"regexp"
	"strings"
	"testing"

	"ripeline/migrations"
	"ripeline/orders"
	"ripeline/orders/postgres"
)

// TestWhatWasPouredBeforeTrialsCounts takes the tables and columns of migration
// 10 away and applies it to a book that has been worked with, as the role that
// owns the schema: what was poured or judged before needs no trial now.
func TestWhatWasPouredBeforeTrialsCounts(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	s := open(t, db.AppURL)
	w, other := untried(t, s)
	text, err := fs.ReadFile(migrations.Files, "00010_fragrance_label_cost.sql")
	must(t, err)
	undo := "DROP TABLE trial_fragrances, trials;"
	for _, alter := range regexp.MustCompile(`(?s)ALTER TABLE (\w+)\n(.*?);`).FindAllStringSubmatch(string(text), -1) {
		for _, column := range regexp.MustCompile(`ADD COLUMN (\w+)`).FindAllStringSubmatch(alter[2], -1) {
			undo += "ALTER TABLE " + alter[1] + " DROP COLUMN " + column[1] + ";"
		}
	}
	owner := connect(t, db.OwnerURL)
	_, err = owner.Exec(t.Context(), undo)
	must(t, err)
	_, err = owner.Exec(t.Context(), string(text))
	must(t, err)
	must(t, migrate(t.Context(), db.OwnerURL)) // grants the new tables

	provedTrials(t, s, w, other)
}

// untried is a workshop whose fragrant recipe was judged good, and one whose was not.
func untried(t *testing.T, s *postgres.Store) (w, other *world) {
	t.Helper()
	w, other = newWorld(t, s, "tideline"), newWorld(t, s, "saltmarsh")
	write(t, s, w.ID, func(tx orders.Tx) error {
		w.Ingredient.Kind = orders.KindFragrance
		return tx.Ingredients().Update(t.Context(), &w.Ingredient)
	})
	write(t, s, other.ID, func(tx orders.Tx) error {
		other.Design.TrialOK = false // and its one batch failed
		return tx.Designs().Update(t.Context(), &other.Design)
	})
	return w, other
}

// TestBackupFromBeforeTrialsCounts restores one as it was written then.
func TestBackupFromBeforeTrialsCounts(t *testing.T) {
	t.Parallel()
	from, s := newStore(t), newStore(t)
	w, other := untried(t, from)
	var lines []string
	table := ""
	for i, line := range unzipped(t, dump(t, from)) {
		if i == 0 {
			line = regexp.MustCompile(`"schema":\d+`).ReplaceAllString(line, `"schema":9`)
		}
		if name := regexp.MustCompile(`^{"table":"(\w+)"`).FindStringSubmatch(line); name != nil {
			table = name[1]
		}
		if table != "trials" && table != "trial_fragrances" && !strings.HasPrefix(line, `{"sha256"`) {
			lines = append(lines, line)
		}
	}
	sum := sha256.Sum256([]byte(strings.Join(lines, "")))
	lines = append(lines, fmt.Sprintf(`{"sha256":"%x"}`, sum))
	must(t, s.Load(t.Context(), bytes.NewReader(zipped(t, lines)), nil))
	provedTrials(t, s, w, other)
}

// provedTrials wants one trial of what was judged, none of what was not.
func provedTrials(t *testing.T, s *postgres.Store, w, other *world) {
	t.Helper()
	trials := func(id string) (all []orders.Trial) {
		read(t, s, id, func(tx orders.Tx) error {
			page, err := tx.Trials().List(t.Context(), orders.ListQuery{})
			all = page.Items
			return err
		})
		return all
	}
	got := trials(w.ID)
	if len(got) != 1 || got[0].RecipeID != w.Recipe.ID || got[0].Verdict != orders.Fit || len(got[0].FragranceIDs) != 1 || got[0].FragranceIDs[0] != w.Ingredient.ID {
		t.Errorf("the trial judged before became %+v", got)
	}
	if got := trials(other.ID); len(got) != 0 {
		t.Errorf("a recipe that was never judged nor poured well has %+v", got)
	}
}
