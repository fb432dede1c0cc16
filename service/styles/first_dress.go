package styles

import (
	"context"
	"fmt"
	"strconv"
	"sync"

	"tapeline/drafting/style"
	"tapeline/service"
	"tapeline/service/work"
)

// firstDressTitle is the title that the walk through a first dress suggests.
const firstDressTitle = "Market shift"

// FirstDress returns the steps of making a first dress: a flared shift with short sleeves,
// a faced neck and a zip.
func FirstDress() []Step {
	return []Step{
		{Title: "Begin with the block", Do: []string{
			"Open Styles and press “Make a style”.",
			"Type the title “" + firstDressTitle + "”, choose “Fitted torso with sleeves” and press “Begin”."},
			See: "On the left the sentences, on the right front, back and sleeve of the block on a body of middle size."},
		{Title: "Say how the block is drafted", Do: []string{
			"Open “The style” over the sentences. In its first sentence press the words that are underlined: make the " +
				"length knee, the suppression half, the centre back seam, the back shoulder ease and the sleeve short.",
			"In “Sew back shoulder to front shoulder”, set “easing in” to 0.5 cm and “how” to eased.",
			"Pick the centre back in the picture and add “Sew back centre back”."},
			See:  "A dress to the knee. The back has a seam at its centre, and no darts but those at waist and bust.",
			make: firstDressBlock},
		{Title: "Cut the neck", Do: []string{
			"Pick the front's neckline and add “Cut the neck of front and back”, 3.5 cm lower at the front and 2 cm wider " +
				"at each shoulder."},
			See: "Both necklines move together, and run on over the shoulder.", make: firstDressNeck},
		{Title: "Flare the sides", Do: []string{
			"Pick the front's side and add “Swing the side of front out” by 3 cm. Do the same to the back."},
			See: "The sides swing out from the hip. The hem stays square to them.", make: firstDressFlare},
		{Title: "Face the neck", Do: []string{
			"Pick the front's neckline and add “Face the neckline of front”, 6 cm wide. Do the same to the back.",
			"Pick the shoulder of the back's facing and add “Make the shoulder measure …”: as long as the front facing's " +
				"shoulder, moving inner."},
			See: "Two new pieces: the facings of front and back.", make: firstDressFacing},
		{Title: "Make room for the zip", Do: []string{
			"Pick the back's centre back and add “Notch the centre back”: a share of −1 of nape to waist, plus −17.5 cm, " +
				"lettered zip end. A negative length counts from the end of the edge, here from the neck.",
			"Pick it again and give it an allowance of 2 cm.",
			"Pick the centre back of the back's facing and treat it as edge: it is turned in beside the zip."},
			See: "A notch below the waist, lettered zip end, and a wider allowance at the centre back.", make: firstDressZip},
		{Title: "Sew the facing on", Do: []string{
			"Pick the neckline of the front's facing and add “Sew …” to front/neckline. Do the same at the back.",
			"Pick the shoulder of the back's facing and sew it to the shoulder of the front's facing."},
			See: "Beside each seam stands “equal”.", make: firstDressSeams},
		{Title: "Can it be put on?", Do: []string{
			"Pick the front's neckline and add “Let the head pass through the necklines of front and back, opened by " +
				"back/centre_back”, for nape to waist plus 17.5 cm, and over front and back.",
			"Pick the sleeve's hem and add “Let the hand pass through sleeve/hem”."},
			See: "Nothing, if all is well: what falls short is said below the picture.", make: firstDressOpenings},
		{Title: "Say how it is sewn", Do: []string{
			"In “Let sewing be …”, write the sewing order, one step a line.",
			"In “The garment is made of …”, add the notions, one a line; then add “a zip”."},
			See: "The making sheet of every order has these steps.", make: firstDressSewing},
		{Title: "Try it, save it, prove it", Do: []string{
			"Look at the six bodies below the picture: all draft. Press “Save as a draft”.",
			"Press “Prove or publish revision 1”, and prove it on the built-in panel."},
			See: "No draft has failed, and none has a fault. The style can be published."},
	}
}

func firstDressBlock(m *maker) {
	for _, choice := range [][2]string{{"length", "knee"}, {"suppression", "half"}, {"centre_back", "seam"},
		{"back_shoulder", "ease"}, {"sleeve", "short"}} {
		m.fill("The style", "draft", choice[0], word(choice[1]))
	}
	m.fill("Sew back shoulder", "ease", "", number(5))
	m.fill("Sew back shoulder", "how", "", word("eased"))
	m.say(style.KindEdge, "back/centre_back", "seam")
}

func firstDressNeck(m *maker) {
	m.say(style.KindEdge, "front/neckline", "necklines", with("depth", number(35)), with("width", number(20)))
}

func firstDressFlare(m *maker) {
	for _, side := range []string{"front/side", "back/side"} {
		m.say(style.KindEdge, side, "flare", with("by", number(30)))
	}
}

func firstDressFacing(m *maker) {
	for _, neck := range []string{"front/neckline", "back/neckline"} {
		m.say(style.KindEdge, neck, "facing", with("width", number(60)))
	}
	m.say(style.KindEdge, "back_neckline_facing/shoulder", "level_to",
		with("to", lengthOf("front_neckline_facing", "shoulder", 0)), with("by", word("inner")))
}

func firstDressZip(m *maker) {
	m.say(style.KindEdge, "back/centre_back", "notch", with("at", measure("nape_to_waist", -1, -175)),
		with("name", word("zip end")))
	m.say(style.KindEdge, "back/centre_back", "allow", named("edge", "centre_back", number(20)))
	m.say(style.KindEdge, "back_neckline_facing/centre_back", "role")
}

func firstDressSeams(m *maker) {
	for _, sewn := range [][2]string{{"front_neckline_facing/neckline", "front/neckline"},
		{"back_neckline_facing/neckline", "back/neckline"},
		{"back_neckline_facing/shoulder", "front_neckline_facing/shoulder"}} {
		m.say(style.KindEdge, sewn[0], "seam", with("b", word(sewn[1])))
	}
}

func firstDressOpenings(m *maker) {
	m.say(style.KindEdge, "front/neckline", "let_pass", with("closing", texts("back/centre_back")),
		with("opens", measure("nape_to_waist", 1, 175)), with("trunk", texts("front", "back")))
	m.say(style.KindEdge, "sleeve/hem", "let_pass")
}

func firstDressSewing(m *maker) {
	m.fill("Let sewing be", "value", "", texts("Interface the facings.", "Sew the darts and press them.",
		"Sew the shoulders, easing the back to the front; sew the shoulders of the facing and neaten its edge.",
		"Sew the centre back below the notch and set the zip in above it.",
		"Sew the facing to the neck, right sides together; clip, understitch and turn it, and sew its ends to the zip.",
		"Sew the sides.",
		"Sew the underarm of each sleeve, ease its cap and set it in, its shoulder notch at the shoulder seam.",
		"Turn the hems up and sew them."))
	m.fill("The garment", "notions", "", texts("Interfacing for the facings", "1 hook and eye"))
	m.add("zip_fastener", with("opening", measure("nape_to_waist", 1, 175)))
}

// firstDressScripts returns the script after each step of FirstDress.
func (s *Service) firstDressScripts(ctx context.Context) ([]string, error) {
	return s.steps(ctx, firstDressTitle, startNamed("torso_sleeve"), FirstDress())
}

func startNamed(name string) Start {
	for _, s := range Starts() {
		if s.Name == name {
			return s
		}
	}
	panic("no start " + name) // a test makes every garment
}

// keptPictures are pictures of what the program itself has: blocks and the steps of the
// walk. Each is drawn once.
type keptPictures struct {
	sync.Mutex
	drawn map[string][]byte
}

// of returns a picture, or draws it.
func (k *keptPictures) of(name string, draw func() error) ([]byte, error) {
	k.Lock()
	defer k.Unlock()
	if _, ok := k.drawn[name]; !ok {
		if err := draw(); err != nil {
			return nil, err
		}
	}
	return k.drawn[name], nil
}

// keep keeps the picture of a script. The mutex is held.
func (s *Service) keep(ctx context.Context, name, script string) error {
	var tried Tried
	if err := s.try(ctx, Trial{Script: script}, &tried); err != nil {
		return err
	}
	if s.pictures.drawn == nil {
		s.pictures.drawn = map[string][]byte{}
	}
	s.pictures.drawn[name] = tried.Picture
	return nil
}

// StartPicture draws what a style can begin with on the average body of the panel.
func (s *Service) StartPicture(ctx context.Context, caller service.Caller, name string) ([]byte, error) {
	for _, start := range Starts() {
		if start.Name != name {
			continue
		}
		return s.pictures.of(start.From(), func() error {
			return s.cfg.Cores.Do(ctx, work.Request, caller.Owner(), func(ctx context.Context) error {
				return s.keep(ctx, start.From(), start.Script())
			})
		})
	}
	return nil, service.NotFound("block")
}

// FirstDressPicture draws the first dress after a step, from 1.
func (s *Service) FirstDressPicture(ctx context.Context, caller service.Caller, step int) ([]byte, error) {
	if step < 1 || step > len(FirstDress()) {
		return nil, service.NotFound("step")
	}
	return s.pictures.of("step "+strconv.Itoa(step), func() error {
		return s.cfg.Cores.Do(ctx, work.Request, caller.Owner(), func(ctx context.Context) error {
			scripts, err := s.firstDressScripts(ctx)
			if err != nil {
				return fmt.Errorf("first dress: %w", err)
			}
			for i, script := range scripts {
				if err := s.keep(ctx, "step "+strconv.Itoa(i+1), script); err != nil {
					return err
				}
			}
			return nil
		})
	})
}
