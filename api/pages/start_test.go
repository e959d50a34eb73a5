package pages

import "testing"

func TestEveryTemplateMatchesItsView(t *testing.T) {
	files, err := loadAssets()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := loadTemplates(templateFiles, files); err != nil {
		t.Fatal(err)
	}
}
