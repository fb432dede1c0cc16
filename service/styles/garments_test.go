package styles

import (
	"flag"
	"os"
	"path/filepath"
	"testing"

	"tapeline/drafting/body"
	"tapeline/drafting/sentence"
	"tapeline/drafting/style"
	"tapeline/service"
)

var update = flag.Bool("update", false, "write the scripts of the garments made in sentences")

// Garments are made by pointing and numbers alone. Each drafts on the whole panel without
// a fault or a finding, and its script is one to keep: testdata/sentences.
func TestGarmentsInSentences(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		title, start string
		steps        []Step
	}{
		"shell-top":      {"Shell top", "straight", []Step{{make: shellTop}}},
		"shift-dress":    {firstDressTitle, "torso_sleeve", FirstDress()},
		"gathered-dress": {"Orchard dress", "torso", []Step{{make: gatheredDress}}},
		"open-jacket":    {"Harbour jacket", "straight", []Step{{make: openJacket}}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			scripts, err := trying().steps(t.Context(), c.title, startNamed(c.start), c.steps)
			if err != nil {
				t.Fatal(err)
			}
			script := scripts[len(scripts)-1]
			golden := filepath.Join("..", "..", "testdata", "sentences", name+".star")
			if *update {
				if err := os.WriteFile(golden, []byte(script), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(golden)
			if err != nil || string(want) != script {
				t.Errorf("%s differs, %v; got\n%s", golden, err, script)
			}
			if all, said := read(t, script).Count(); said != all {
				t.Errorf("%d of %d statements are sentences", said, all)
			}
			for _, f := range proveClean(t, script) {
				t.Errorf("%+v", f)
			}
			if folder := os.Getenv("TAPELINE_PICTURES"); folder != "" {
				tried, err := trying().Try(t.Context(), service.Caller{}, Trial{Script: script})
				if err == nil {
					err = os.WriteFile(filepath.Join(folder, name+".svg"), tried.Picture, 0o644)
				}
				if err != nil {
					t.Error(err)
				}
			}
		})
	}
}

func read(t *testing.T, script string) *Sentences {
	t.Helper()
	s, p := ReadSentences(script, body.Centimetre)
	if p != nil {
		t.Fatal(p)
	}
	return s
}

// shellTop makes the top of the guide.
func shellTop(m *maker) {
	m.fill("The style", "about", "", word("A top without sleeves, pulled over the head, bound at neck and armholes."))
	m.fill("The style", "cloths", "", texts("light woven: cotton, linen, viscose"))
	m.fill("The style", "allowances", "hem", number(20))
	m.fill("Offer the fit", "ease", "bust_girth", number(200))
	m.fill("Offer the fit", "ease", "hip_girth", number(280))
	m.say(style.KindEdge, "front/neckline", "drop", named("neighbour", "centre_front", number(110)),
		named("neighbour", "shoulder", number(40)))
	m.choose("Lower the neckline of the front", "neighbour", "centre_front",
		sentence.Choice{Name: "neck_depth", Help: "Depth of the front neckline below the neck base.", Min: 100, Max: 180})
	m.say(style.KindEdge, "back/neckline", "drop", named("neighbour", "centre_back", number(20)),
		named("neighbour", "shoulder", number(40)))
	for _, side := range []string{"front", "back"} {
		m.say(style.KindEdge, side+"/neckline", "allow", named("edge", "neckline", number(0)))
		m.fill("Give the "+side, "edge", "armhole", number(0))
	}
	m.say(style.KindEdge, "front/neckline", "bind", with("round", Value{Form: sentence.YesNo, Word: "yes"}))
	m.say(style.KindEdge, "front/armhole", "bind")
	m.say(style.KindEdge, "front/neckline", "let_pass", with("trunk", texts("front", "back")))
	m.say(style.KindEdge, "front/armhole", "let_pass")
	m.fill("Let sewing be", "value", "", texts("Sew the shoulders and the sides.",
		"Sew the bindings to rings; bind neck and armholes.", "Turn the hem up and stitch it."))
}

// gatheredDress makes a bodice with a gathered skirt and a zip, bound at neck and armholes.
func gatheredDress(m *maker) {
	m.fill("The style", "about", "", word("A sleeveless bodice with a skirt gathered to its waist, closed by a zip."))
	m.fill("The style", "cautions", "",
		texts("A full skirt of light cloth swings out and catches fire easily: keep away from open flame."))
	m.fill("The style", "draft", "length", word("waist"))
	m.fill("The style", "draft", "centre_back", word("seam"))
	m.say(style.KindPiece, "front", "necklines", with("depth", number(60)), with("width", number(25)))
	for _, side := range []string{"front", "back"} {
		m.say(style.KindEdge, side+"/hem", "role", named("edge", "hem", word("seam")))
		m.say(style.KindEdge, side+"/hem", "panel", with("title", word("Skirt "+side)), with("times", number(1.8)),
			with("length", number(620)))
		m.say(style.KindEdge, side+"/neckline", "allow", named("edge", "neckline", number(0)))
		m.fill("Give the "+side, "edge", "armhole", number(0))
		m.say(style.KindEdge, "skirt_"+side+"/top", "seam", with("b", word(side+"/hem")), with("gather", number(1.8)),
			with("how", word("gathered")))
	}
	m.choose("Gather to the hem of the front", "length", "", sentence.Choice{Name: "skirt_length",
		Help: "Length from the waist seam to the hem.", Min: 350, Max: 900})
	m.fill("Gather to the hem of the back", "length", "", Value{Form: sentence.Chosen, Word: "skirt_length"})
	m.say(style.KindEdge, "skirt_front/centre", "on_fold")
	m.say(style.KindEdge, "skirt_back/side", "seam")
	m.say(style.KindEdge, "back/centre_back", "seam")
	m.say(style.KindEdge, "skirt_back/centre", "seam")
	m.say(style.KindEdge, "skirt_back/centre", "notch", with("at", number(-180)), with("name", word("zip end")))
	m.say(style.KindEdge, "front/neckline", "bind", with("round", Value{Form: sentence.YesNo, Word: "yes"}))
	m.say(style.KindEdge, "front/armhole", "bind")
	m.say(style.KindEdge, "front/neckline", "let_pass", with("closing", texts("back/centre_back", "skirt_back/centre")),
		with("opens", lengthOf("back", "centre_back", 180)), with("trunk", texts("front", "back")))
	m.say(style.KindEdge, "front/armhole", "let_pass")
	m.fill("Let sewing be", "value", "", texts("Sew the darts and press them.",
		"Sew the shoulders, and the sides of the bodice.",
		"Sew the sides of the skirt.",
		"Gather the top of the skirt and sew it to the bodice, side seam to side seam, the gathers even.",
		"Set the zip in from the neck to the notch of the skirt and sew the centre back below it.",
		"Bind neck and armholes.", "Turn the hem up and sew it."))
	m.add("zip_fastener", with("opening", lengthOf("back", "centre_back", 180)))
}

// openJacket makes a jacket with sleeves cut in one, that opens in front.
func openJacket(m *maker) {
	m.fill("The style", "about", "",
		word("A straight jacket with sleeves cut in one, a grown-on front facing and buttons."))
	m.fill("The style", "measures", "", texts("arm_length", "upper_arm_girth", "wrist_girth"))
	m.fill("The style", "cautions", "",
		texts("Wide sleeves catch fire easily: keep away from cookers, candles and open fires."))
	m.fill("The style", "draft", "armhole", word("for_sleeve"))
	m.fill("The style", "draft", "centre_front", word("seam"))
	for _, girth := range []string{"bust_girth", "waist_girth", "hip_girth"} {
		m.fill("Offer the fit", "ease", girth, number(150))
	}
	m.say(style.KindPiece, "front", "necklines", with("depth", number(20)), with("width", number(12)))
	m.say(style.KindPiece, "front", "grow_sleeves", with("length", measure("arm_length", 1, 0)),
		with("width", number(370)), with("underarm", number(110)))
	m.fill("Sew back shoulder", "b", "", word("front/overarm"))
	m.fill("Sew back shoulder", "a", "", word("back/overarm"))
	m.say(style.KindEdge, "front/centre_front", "extend", with("by", number(20)), with("keep", word("centre")))
	m.say(style.KindEdge, "front/centre_front", "fold_out", with("width", number(70)), with("fold", word("front_edge")))
	m.say(style.KindEdge, "front/neckline", "allow", named("edge", "neckline", number(0)))
	m.fill("Give the front", "edge", "facing_neckline", number(0))
	m.say(style.KindEdge, "back/neckline", "allow", named("edge", "neckline", number(0)))
	m.say(style.KindEdge, "front/neckline", "bind", with("round", Value{Form: sentence.YesNo, Word: "yes"}))
	m.say(style.KindEdge, "front/neckline", "let_pass", with("closing", texts("front/facing_edge")))
	m.say(style.KindEdge, "front/sleeve_hem", "let_pass", with("reach", measure("arm_length", 1, 0)),
		with("ease", number(90)))
	m.fill("Let sewing be", "value", "", texts("Sew shoulders and overarms from the neck to the sleeve's end.",
		"Sew underarm and side in one, stretching the curve a little; reinforce it with tape and clip it.",
		"Fold the facings in along the front edge and bind the neck through both layers.",
		"Turn the hems up and sew them.", "Make the buttonholes and sew the buttons on at the centre."))
	m.add("buttons", with("count", number(5)), with("size", number(20)))
}
