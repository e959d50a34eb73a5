package api

import (
	"strings"
	"testing"
)

func TestConfigIsChecked(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Config)
		want   string
	}{
		"no book":        {func(c *Config) { c.Book = nil }, "Book"},
		"no address":     {func(c *Config) { c.BaseURL = "" }, "base address"},
		"relative":       {func(c *Config) { c.BaseURL = "soap.example" }, "base address"},
		"other scheme":   {func(c *Config) { c.BaseURL = "ftp://soap.example" }, "base address"},
		"with a path":    {func(c *Config) { c.BaseURL = "https://soap.example/shop" }, "base address"},
		"proxy no range": {func(c *Config) { c.TrustProxy = []string{"10.0.0.1"} }, "trusted proxy"},
		"origin no URL":  {func(c *Config) { c.TrustedOrigins = []string{"soap.example"} }, "trusted origins"},
		"negative":       {func(c *Config) { c.Rate = -1 }, "negative"},
	} {
		cfg := plainConfig()
		c.change(&cfg)
		if _, err := New(cfg); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error is %v, want one about %q", name, err, c.want)
		}
	}
	cfg := plainConfig()
	cfg.BaseURL += "/" // people add one
	if _, err := New(cfg); err != nil {
		t.Error(err)
	}
}
