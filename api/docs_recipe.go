package api

import (
	"embed"
	"fmt"
	"regexp"
	"strings"
)

// samples has the sample clients, which tests run against a server.
//
//go:embed clients/typescript/orders.ts clients/typescript/hooks.ts clients/python/orders.py clients/python/hooks.py
var samples embed.FS

// recipe is a task of a shop's engineer with the code that does it.
type recipe struct {
	ID, Title, Text    string
	TypeScript, Python string // cut from the sample clients
}

// recipes lists the recipes of the page without their code. The code stands in the
// sample clients between lines with "recipe: " and the ID, and "end".
var recipes = []recipe{
	{ID: "place-an-order", Title: "Place an order and download its pattern",
		Text: "Repeat the request with the same `Idempotency-Key` until it is answered. Wait for `order.ready` or " +
			"`order.held` by webhook, or ask for the order."},
	{ID: "answer-a-question", Title: "Answer the question of a held order",
		Text: "An order is held if some of its numbers do not go together. The report of its measurement set has a " +
			"question for each, and the numbers if the answer is yes. Release the order with the corrected set, or as " +
			"it is. `POST /v1/orders/{order_id}/ask` makes a page that asks the customer instead."},
	{ID: "correct-a-measurement", Title: "Correct a measurement of an order that is not cut",
		Text: "A measurement set never changes: the corrected numbers are the customer's next set. While the order is " +
			"held nobody can download the pattern with the wrong number. Staff can `revise` the order instead."},
	{ID: "hold-and-cancel", Title: "Hold or cancel an order",
		Text: "A held order stays until it is confirmed; a cancelled one is closed for good."},
	{ID: "refit-one-order", Title: "Refit one order after a fitting",
		Text: "With a key of role `staff`. The preview says how far each seam line would move; nothing changes before " +
			"the decision. Without `scope` the same refit finds every order of that fit."},
	{ID: "test-an-order", Title: "Test with orders that count nowhere",
		Text: "With a test key. The first draft of an order whose reference begins with `TEST-HELD` is held with a " +
			"question, and of one that begins with `TEST-FAILED` fails. Test customers are erased after 7 days."},
	{ID: "verify-a-webhook", Title: "Verify a webhook",
		Text: "Verify the bytes as they came, before reading them as JSON. Every retry of a message has the same " +
			"`webhook-id`. Answer with 2xx within 15 seconds and do the work afterwards."},
}

// cutRecipes returns the recipes with their code.
func cutRecipes() ([]recipe, error) {
	list := make([]recipe, len(recipes))
	for i, r := range recipes {
		var err error
		if r.TypeScript, err = cutSample("clients/typescript", r.ID); err != nil {
			return nil, err
		}
		if r.Python, err = cutSample("clients/python", r.ID); err != nil {
			return nil, err
		}
		list[i] = r
	}
	return list, nil
}

// cutSample returns the part of a sample client that a recipe names.
func cutSample(dir, id string) (string, error) {
	part := regexp.MustCompile(`(?ms)^(?://|#) recipe: ` + id + `\n(.*?)^(?://|#) end$`)
	files, err := samples.ReadDir(dir)
	if err != nil {
		return "", err
	}
	for _, file := range files {
		text, err := samples.ReadFile(dir + "/" + file.Name())
		if err != nil {
			return "", err
		}
		if found := part.FindSubmatch(text); found != nil {
			return strings.TrimSpace(string(found[1])), nil
		}
	}
	return "", fmt.Errorf("no sample client in %s has the recipe %s", dir, id)
}
