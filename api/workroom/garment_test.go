package workroom_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"tapeline/service"
)

// A cutter makes whole garments on the page, without a word of script: by the pointer in the
// picture and numbers, and one of them by keys alone too. What is saved is the script of the
// same acts in testdata/sentences.
func TestGarmentsAreMade(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		golden, slug string
		keys         bool
		make         func(*cutter)
	}{
		"shell top":         {"shell-top", "shell-top", false, (*cutter).shellTop},
		"shell top by keys": {"shell-top", "shell-top", true, (*cutter).shellTop},
		"shift dress":       {"shift-dress", "market-shift", false, (*cutter).shiftDress},
		"gathered dress":    {"gathered-dress", "orchard-dress", false, (*cutter).gatheredDress},
		"open jacket":       {"open-jacket", "harbour-jacket", false, (*cutter).openJacket},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			golden, err := os.ReadFile(filepath.Join("..", "..", "testdata", "sentences", c.golden+".star"))
			if err != nil {
				t.Fatal(err)
			}
			s := newSite(t)
			w := &cutter{window: s.open().signIn(service.RoleStaff), keys: c.keys}
			begun := time.Now()
			c.make(w)
			t.Logf("made in %s", time.Since(begun).Round(time.Second))
			w.picture("made-" + c.golden)
			w.presses(saying("#writing button", "Save as a draft"))
			w.sees("Saved as revision 1, a draft.")
			got, err := s.service.Styles.Script(t.Context(), s.caller, c.slug, 1)
			s.must(err)
			if got != string(golden) {
				t.Errorf("the saved script is\n%s", got)
			}
		})
	}
}

// opensHead opens the sentences of the head.
func (c *cutter) opensHead() {
	c.Helper()
	c.presses(sole("#section-head > summary"))
}

// heads fills in what the first sentence of a script leaves out.
func (c *cutter) heads(blank string, e entry) {
	c.Helper()
	c.blankLeftOut("The style", blank)
	c.fillsIn(e)
}

// shiftDress makes the dress of the walk: a flared shift, faced at the neck, with a zip.
func (c *cutter) shiftDress() {
	c.begins("torso_sleeve", "Market shift")
	c.opensHead()
	for _, choice := range [][2]string{{"hip", "knee"}, {"full", "half"}, {"fold", "seam"}, {"dart", "ease"},
		{"full", "short"}} {
		c.blankOf("The style", choice[0])
		c.fillsIn(wordIn("", "", choice[1]))
	}
	c.blankLeftOut("Sew back shoulder", "ease")
	c.fillsIn(numberIn("", "", "0.5"))
	c.blankLeftOut("Sew back shoulder", "how")
	c.fillsIn(wordIn("", "", "eased"))
	c.adds("back", "centre_back", "seam")
	c.adds("front", "neckline", "necklines", numberIn("depth", "", "3.5"), numberIn("width", "", "2"))
	c.adds("front", "side", "flare", numberIn("by", "", "3"))
	c.adds("back", "side", "flare", numberIn("by", "", "3"))
	c.shiftFacing()
	c.adds("front", "neckline", "let_pass", linesIn("closing", "back/centre_back"),
		measureIn("opens", "1", "nape_to_waist", "17.5"), linesIn("trunk", "front", "back"))
	c.adds("sleeve", "hem", "let_pass")
	c.sewing("Interface the facings.", "Sew the darts and press them.",
		"Sew the shoulders, easing the back to the front; sew the shoulders of the facing and neaten its edge.",
		"Sew the centre back below the notch and set the zip in above it.",
		"Sew the facing to the neck, right sides together; clip, understitch and turn it, and sew its ends to the zip.",
		"Sew the sides.",
		"Sew the underarm of each sleeve, ease its cap and set it in, its shoulder notch at the shoulder seam.",
		"Turn the hems up and sew them.")
	c.blankLeftOut("The garment", "notions")
	c.fillsIn(linesIn("", "Interfacing for the facings", "1 hook and eye"))
	c.addsAny("zip_fastener", measureIn("opening", "1", "nape_to_waist", "17.5"))
}

// shiftFacing faces the neck, makes room for the zip and sews the facing on.
func (c *cutter) shiftFacing() {
	c.adds("front", "neckline", "facing", numberIn("width", "", "6"))
	c.adds("back", "neckline", "facing", numberIn("width", "", "6"))
	c.adds("back_neckline_facing", "shoulder", "level_to", edgeIn("to", "front_neckline_facing/shoulder", "0"),
		wordIn("by", "", "inner"))
	c.adds("back", "centre_back", "notch", measureIn("at", "-1", "nape_to_waist", "-17.5"), wordIn("name", "", "zip end"))
	c.adds("back", "centre_back", "allow", numberIn("edge", "centre_back", "2"))
	c.adds("back_neckline_facing", "centre_back", "role")
	c.adds("front_neckline_facing", "neckline", "seam", wordIn("b", "", "front/neckline"))
	c.adds("back_neckline_facing", "neckline", "seam", wordIn("b", "", "back/neckline"))
	c.adds("back_neckline_facing", "shoulder", "seam", wordIn("b", "", "front_neckline_facing/shoulder"))
}

// gatheredDress makes a bodice with a gathered skirt and a zip, bound at neck and armholes.
func (c *cutter) gatheredDress() {
	c.begins("torso", "Orchard dress")
	c.opensHead()
	c.heads("about", wordIn("", "", "A sleeveless bodice with a skirt gathered to its waist, closed by a zip."))
	c.heads("cautions", linesIn("",
		"A full skirt of light cloth swings out and catches fire easily: keep away from open flame."))
	c.blankOf("The style", "hip")
	c.fillsIn(wordIn("", "", "waist"))
	c.blankOf("The style", "fold")
	c.fillsIn(wordIn("", "", "seam"))
	c.addsTo("front", "necklines", numberIn("depth", "", "6"), numberIn("width", "", "2.5"))
	for _, side := range []string{"front", "back"} {
		c.adds(side, "hem", "role", wordIn("edge", "hem", "seam"))
		c.adds(side, "hem", "panel", wordIn("title", "", "Skirt "+side), numberIn("times", "", "1.8"),
			numberIn("length", "", "62"))
		c.adds(side, "neckline", "allow", numberIn("edge", "neckline", "0"))
		c.blankLeftOut("Give the "+side, "edge")
		c.fillsIn(numberIn("", "armhole", "0"))
		c.adds("skirt_"+side, "top", "seam", wordIn("b", "", side+"/hem"), numberIn("gather", "", "1.8"),
			wordIn("how", "", "gathered"))
	}
	c.blankOf("Gather to the hem of the front", "62 cm")
	c.letsChoose("skirt length", "Length from the waist seam to the hem.", "35", "90")
	c.blankOf("Gather to the hem of the back", "62 cm")
	c.fillsIn(entry{"", "", "chosen", [][2]string{{"word", "skirt_length"}}})
	c.adds("skirt_front", "centre", "on_fold")
	c.adds("skirt_back", "side", "seam")
	c.adds("back", "centre_back", "seam")
	c.adds("skirt_back", "centre", "seam")
	c.adds("skirt_back", "centre", "notch", numberIn("at", "", "-18"), wordIn("name", "", "zip end"))
	c.adds("front", "neckline", "bind", yesIn("round"))
	c.sees("yes round both halves")
	c.adds("front", "armhole", "bind")
	c.adds("front", "neckline", "let_pass", linesIn("closing", "back/centre_back", "skirt_back/centre"),
		edgeIn("opens", "back/centre_back", "18"), linesIn("trunk", "front", "back"))
	c.adds("front", "armhole", "let_pass")
	c.sewing("Sew the darts and press them.", "Sew the shoulders, and the sides of the bodice.",
		"Sew the sides of the skirt.",
		"Gather the top of the skirt and sew it to the bodice, side seam to side seam, the gathers even.",
		"Set the zip in from the neck to the notch of the skirt and sew the centre back below it.",
		"Bind neck and armholes.", "Turn the hem up and sew it.")
	c.addsAny("zip_fastener", edgeIn("opening", "back/centre_back", "18"))
}

// openJacket makes a jacket with sleeves cut in one, that opens in front.
func (c *cutter) openJacket() {
	c.begins("straight", "Harbour jacket")
	c.opensHead()
	c.heads("about", wordIn("", "", "A straight jacket with sleeves cut in one, a grown-on front facing and buttons."))
	c.heads("measures", linesIn("", "arm_length", "upper_arm_girth", "wrist_girth"))
	c.heads("cautions", linesIn("",
		"Wide sleeves catch fire easily: keep away from cookers, candles and open fires."))
	c.heads("draft: armhole", wordIn("", "", "for_sleeve"))
	c.heads("draft: centre front", wordIn("", "", "seam"))
	for _, girth := range []string{"bust_girth", "waist_girth", "hip_girth"} {
		c.blankLeftOut("Offer the fit", "ease")
		c.fillsIn(numberIn("", girth, "15"))
	}
	c.addsTo("front", "necklines", numberIn("depth", "", "2"), numberIn("width", "", "1.2"))
	c.addsTo("front", "grow_sleeves", measureIn("length", "1", "arm_length", "0"), numberIn("width", "", "37"),
		numberIn("underarm", "", "11"))
	c.blankOf("Sew back shoulder", "front shoulder")
	c.fillsIn(wordIn("", "", "front/overarm"))
	c.blankOf("Sew back shoulder", "back shoulder")
	c.fillsIn(wordIn("", "", "back/overarm"))
	c.adds("front", "centre_front", "extend", numberIn("by", "", "2"), wordIn("keep", "", "centre"))
	c.adds("front", "centre_front", "fold_out", numberIn("width", "", "7"), wordIn("fold", "", "front_edge"))
	c.adds("front", "neckline", "allow", numberIn("edge", "neckline", "0"))
	c.blankLeftOut("Give the front", "edge")
	c.fillsIn(numberIn("", "facing_neckline", "0"))
	c.adds("back", "neckline", "allow", numberIn("edge", "neckline", "0"))
	c.adds("front", "neckline", "bind", yesIn("round"))
	c.sees("yes round both halves")
	c.adds("front", "neckline", "let_pass", linesIn("closing", "front/facing_edge"))
	c.adds("front", "sleeve_hem", "let_pass", measureIn("reach", "1", "arm_length", "0"), numberIn("ease", "", "9"))
	c.sewing("Sew shoulders and overarms from the neck to the sleeve's end.",
		"Sew underarm and side in one, stretching the curve a little; reinforce it with tape and clip it.",
		"Fold the facings in along the front edge and bind the neck through both layers.",
		"Turn the hems up and sew them.", "Make the buttonholes and sew the buttons on at the centre.")
	c.addsAny("buttons", numberIn("count", "", "5"), numberIn("size", "", "2"))
}

// shellTop makes the top of the guide.
func (c *cutter) shellTop() {
	c.begins("straight", "Shell top")
	c.opensHead()
	c.heads("about", wordIn("", "", "A top without sleeves, pulled over the head, bound at neck and armholes."))
	c.heads("cloths", linesIn("", "light woven: cotton, linen, viscose"))
	c.blankOf("The style", "4 cm")
	c.fillsIn(numberIn("", "", "2"))
	for _, ease := range [][2]string{{"bust_girth", "20"}, {"hip_girth", "28"}} {
		c.blankLeftOut("Offer the fit", "ease")
		c.fillsIn(numberIn("", ease[0], ease[1]))
	}
	c.adds("front", "neckline", "drop", numberIn("neighbour", "centre_front", "11"),
		numberIn("neighbour", "shoulder", "4"))
	c.blankOf("Lower the neckline of the front", "11 cm")
	c.letsChoose("neck depth", "Depth of the front neckline below the neck base.", "10", "18")
	c.adds("back", "neckline", "drop", numberIn("neighbour", "centre_back", "2"),
		numberIn("neighbour", "shoulder", "4"))
	for _, side := range []string{"front", "back"} {
		c.adds(side, "neckline", "allow", numberIn("edge", "neckline", "0"))
		c.blankLeftOut("Give the "+side, "edge")
		c.fillsIn(numberIn("", "armhole", "0"))
	}
	c.adds("front", "neckline", "bind", yesIn("round"))
	c.sees("yes round both halves")
	c.adds("front", "armhole", "bind")
	c.adds("front", "neckline", "let_pass", linesIn("trunk", "front", "back"))
	c.adds("front", "armhole", "let_pass")
	c.sewing("Sew the shoulders and the sides.", "Sew the bindings to rings; bind neck and armholes.",
		"Turn the hem up and stitch it.")
}
