package block
import ("testing";"os";"encoding/json";"fmt";"tapeline/drafting/body";"math")
func TestDbg(t *testing.T){
 for _, n := range []string{"avg","petite","tall","plus","pear","apple","plus130","hourglass","cup98","cup94","cup88","cup82"} {
  data,_ := os.ReadFile("/tmp/bodice/o/"+n+"-torso.json")
  var o struct{Measurements map[body.Name]float64}
  json.Unmarshal(data,&o)
  m := body.Measures{}
  for k,v := range o.Measurements { m[k]=v*10 }
  b,faults := body.NewIn(body.Millimetre,m,torsoNeeds,torsoSpec().Uses)
  if faults!=nil {t.Log(n,faults);continue}
  f,err := newFigure(Request{Body:b,Fit:"regular"},true,torsoFits())
  if err!=nil {t.Log(n,err);continue}
  u,err := f.draftUpper()
  if err!=nil {t.Log(n,err);continue}
  mm,err := f.marry(t.Context(),&u)
  if err!=nil {t.Log(n,err);continue}
  y:=mm.bustLine
  arm:=b.Value(body.UpperArmGirth)
  s:=fmt.Sprintf("%-9s back %.0f front %.0f | aw %.0f+%.0f=%.0f (.45arm %.0f) | lean b %.0f f %.0f dart %.1f deg | D %.0f by %.0f E %.0f lift %.0f AH %.0f+%.0f r %.2f bic %+.0f| girth", n,
   xAtLevel(mm.sideBack,y), xAtLevel(mm.sideFront,y), mm.underarmX(back)-f.halfBack, mm.dart.underarm.X-f.halfChest, mm.underarmX(back)-f.halfBack+mm.dart.underarm.X-f.halfChest, .45*arm,
   math.Atan2(mm.sideBack.StartTangent().X,mm.sideBack.StartTangent().Y)/degree, math.Atan2(mm.dart.upperDir().X,mm.dart.upperDir().Y)/degree, mm.dart.angle/degree, mm.depth, u.bustPoint.Y, u.surplus,u.lift, mm.armholes[back].length(), mm.armholes[front].length(), mm.ratio(), mm.cap.biceps-f.biceps)
  for _,d := range []float64{-40,-20,0,20,40,60} {
    w := xAtLevel(mm.sideBack,y+d)+xAtLevel(mm.sideFront,y+d)-mm.backDarts.widthAt(y+d)-mm.frontDarts.widthAt(y+d)
    s+=fmt.Sprintf(" %+.0f", 2*w-2*f.bust)
  }
  t.Log(s)
 }
}
func (m married) underarmX(i int) float64 { return m.sideBack.Start().X }
func (d bustDart) upperDir() struct{X,Y float64} { p:=d.lower; if len(d.upper)>0 {p=d.upper}; v:=p.StartTangent(); return struct{X,Y float64}{v.X,v.Y} }
