package style

// examples are what the pictures of the reference show: the body of a function
// that is given the torso block of a standard figure and returns what there was
// and what the verb makes of it. Verbs without one have no shape to show.
var examples = map[string]string{
	// Measure.
	"length":         `return block.back, edge(block.back, "armhole")`,
	"seam_length":    `return [block.front, shift(block.back, right = 340)], [edge(block.front, "side"), edge(shift(block.back, right = 340), "side")]`,
	"notches":        `return block.sleeve, [along(edge(block.sleeve, "cap_back"), n) for n in notches(block.sleeve, "cap_back")]`,
	"distance":       `p = block.front; return p, line(corner(p, "neckline", "shoulder"), mark(p, "bust_point"))`,
	"angle":          `p = block.back; a = corner(p, "neckline", "shoulder"); return p, [line(a, corner(p, "shoulder", "armhole")), line(a, a + point(150, 0))]`,
	"width":          `p = block.back; return p, guide(p, "waist")`,
	"level":          `p = block.back; y = level(p, "waist"); return p, line(point(-40, y), point(300, y))`,
	"distance_along": `s = edge(block.back, "side"); q = guide(block.back, "waist").end; return block.back, [part(s, 0, distance_along(s, q)), q]`,

	// Points.
	"point":   `return block.back, point(120, 300)`,
	"along":   `return block.back, [along(edge(block.back, "side"), at = 120), along(edge(block.back, "hem"), part = 0.5)]`,
	"corner":  `return block.back, corner(block.back, "side", "hem")`,
	"mark":    `return block.front, mark(block.front, "bust_point")`,
	"polar":   `a = corner(block.back, "neckline", "shoulder"); b = polar(a, 200, 60); return block.back, [a, b, line(a, b)]`,
	"meet":    `p = block.back; l = line(point(0, 120), point(100, 120)); return [p, l], meet(l, edge(p, "armhole"))`,
	"nearest": `p = block.front; q = mark(p, "bust_point"); n = nearest(edge(p, "armhole"), q); return [p, q], [n, line(q, n)]`,

	// Lines.
	"line":      `return [], line(point(0, 0), point(80, 30), point(160, 0))`,
	"curve":     `ps = [point(0, 60), point(70, 0), point(150, 50), point(220, 20)]; return ps, curve(ps, start = "up", end = "right")`,
	"arc":       `c = point(0, 0); return c, [arc(c, 115, 0, 90), arc(c, 300, 0, 90), line(point(115, 0), point(300, 0)), line(point(0, 300), point(0, 115))]`,
	"edge":      `return block.front, edge(block.front, "neckline")`,
	"guide":     `return block.front, guide(block.front, "waist")`,
	"legs":      `l = legs(block.front, "bust_dart"); return block.front, [l[0], l[1]]`,
	"parallel":  `n = edge(block.front, "neckline"); return block.front, [n, parallel(n, -60)]`,
	"part":      `return block.front, part(edge(block.front, "armhole"), 40, 120)`,
	"sized":     `c = curve([point(0, 0), point(90, -20)], start = "right", end = -30); return c, sized(c, 140)`,
	"stretched": `n = edge(block.front, "neckline"); return block.front, stretched(n, n.start + point(0, 50), n.end + point(25, 10))`,

	// Move.
	"shift":       `return block.back, shift(block.back, right = 120, down = 60)`,
	"turn":        `p = block.sleeve; return p, turn(p, corner(p, "cap_back", "cap_front"), 20)`,
	"mirror":      `p = shift(block.back, right = 30); return [p, line(point(0, -60), point(0, 660))], mirror(p, point(0, 0), point(0, 1))`,
	"lay":         `f, b = block.front, block.back; return [b, f], lay(f, corner(f, "neckline", "shoulder"), corner(f, "shoulder", "armhole"), corner(b, "neckline", "shoulder"), corner(b, "shoulder", "armhole"), over = True)`,
	"unfold":      `return block.back, unfold(block.back, "centre_back")`,
	"turned_over": `p = shift(block.front, right = 20); return p, mirror(turned_over(p), point(0, 0), point(0, 1))`,

	// Shape.
	"redraw":   `p = block.back; a, b = corner(p, "side", "hem"), corner(p, "hem", "centre_back"); return p, redraw(p, hem = curve([a, b + point(0, -60)], end = "left"))`,
	"drop":     `return block.front, drop(block.front, "neckline", centre_front = 60, shoulder = 25)`,
	"level_to": `p = block.back; return p, level_to(p, "side", length(p, "side") - 60, "hem")`,
	"lengthen": `p = block.sleeve; return p, lengthen(p, point(0, 320), 60)`,
	"slash":    `p = plain(block.back); return p, slash(p, ("hem", 130), ("shoulder", 60), 90)`,
	"spread":   `p = plain(block.back); return p, spread(p, "hem", "shoulder", 240, slashes = 5)`,
	"flare":    `p = block.back; return p, flare(p, "side", "hem", 70, length(p, "side") - 190)`,
	"true_up":  `p = redraw(plain(block.back), side = line(corner(block.back, "armhole", "side"), point(330, 600)), hem = line(point(330, 600), point(0, 620))); return p, true_up(p, "hem")`,
	"extend":   `return block.front, extend(block.front, "centre_front", 60, "centre")`,
	"fold_out": `p = extend(block.front, "centre_front", 15, "centre"); return p, fold_out(p, "centre_front", 60, "front_edge")`,

	// Darts.
	"move_dart": `return block.front, move_dart(block.front, "bust_dart", "shoulder", part = 0.5)`,
	"undart":    `return block.back, undart(block.back, "shoulder_dart", fold = 50)`,
	"dart":      `p = undart(block.back, "shoulder_dart"); return p, dart(p, "neck_dart", "neckline", 50, 12, point(70, 70))`,

	// Cut and join.
	"piece": `return [], piece("yoke", "Yoke", neckline = curve([point(0, 0), point(75, -25)], start = "right", end = -60), shoulder = line(point(75, -25), point(200, 20)), armhole = line(point(200, 20), point(185, 110)), seam = line(point(185, 110), point(0, 110)), centre_back = line(point(0, 110), point(0, 0)))`,
	"cut":   `p = plain(block.back); parts = cut(p, line(point(0, 110), meet(line(point(0, 110), point(50, 110)), edge(p, "armhole"))), ["yoke", "back"], "yoke_seam"); return p, [shift(parts[0], down = -40), parts[1]]`,
	"join":  `p = plain(block.back); parts = cut(p, line(point(0, 110), meet(line(point(0, 110), point(50, 110)), edge(p, "armhole"))), ["yoke", "back"], "yoke_seam"); return [shift(parts[0], down = -40), parts[1]], join(parts[1], "yoke_seam", parts[0], "yoke_seam")`,
	"split": `p = block.sleeve; q = split(p, "hem", 60, "hem_front", "hem_back"); return p, [edge(q, "hem_front"), corner(q, "hem_front", "hem_back")]`,
	"copy":  `return block.back, shift(copy(block.back, "lining", "Lining"), right = 320)`,

	// Derive.
	"waistband":    `f, b = length(block.front, "hem"), length(block.back, "hem"); return [], waistband("waistband", "Waistband", 35, 30, left = b + f, right = f + b)`,
	"band":         `n = edge(block.front, "neckline"); return block.front, shift(band("neckband", "Neckband", length(n), 25, doubled = True), down = -130)`,
	"facing":       `return block.front, facing(block.front, "neckline", "front_facing", "Front facing", width = 60)`,
	"binding":      `return [], binding("binding", "Binding", 300, 30)`,
	"stand":        `return [], stand("stand", "Stand", 195, 15, 32, rise = 14)`,
	"collar":       `return [], collar("collar", "Collar", 195, 46, 72)`,
	"patch_pocket": `return [], patch_pocket("pocket", "Pocket", 130, 150, point = 20)`,
	"pocket_bag":   `return [], pocket_bag("bag", "Pocket bag", 150)`,
	"lining":       `return block.back, shift(lining(block.back, "back_lining", "Back lining"), right = 320)`,

	// Finish.
	"notch":         `p = notch(block.back, "hem", 80); return block.back, [along(edge(p, "hem"), n) for n in notches(p, "hem")]`,
	"clear_notches": `p = block.sleeve; return p, clear_notches(p, "cap_back", "cap_front")`,
	"drill":         `return block.front, drill(block.front, "pocket", point(60, 180))`,
	"draw":          `return block.front, draw(block.front, "pocket_edge", line(point(60, 180), point(170, 180)))`,
	"grain":         `return block.back, grain(block.back, 45)`,
	"on_fold":       `return block.back, on_fold(block.back, "centre_back")`,
	"off_fold":      `return block.back, off_fold(block.back, "centre_back")`,
}
