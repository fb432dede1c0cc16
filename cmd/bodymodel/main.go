// Command bodymodel fits the model of bodies to an open survey and writes the
// data file of package population, or evaluates the embedded model on the
// people held out from the fit.
//
//	go run ./cmd/bodymodel -survey ../shared/data            # writes the model
//	go run ./cmd/bodymodel -survey ../shared/data -evaluate  # prints the tables
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"os"

	"tapeline/drafting/body"
	"tapeline/drafting/body/population"
)

const women = "women"

func main() {
	folder := flag.String("survey", "../shared/data", "directory of the survey's files")
	out := flag.String("out", "drafting/body/population/people.json", "file to write the model to")
	evaluating := flag.Bool("evaluate", false, "evaluate the embedded model on the people held out, writing no file")
	flag.Parse()
	var err error
	if *evaluating {
		err = evaluate(os.Stdout, *folder)
	} else {
		err = write(os.Stdout, *folder, *out)
	}
	if err != nil {
		fmt.Fprintf(os.Stderr, "bodymodel: %v\n", err)
		os.Exit(1)
	}
}

func write(log io.Writer, folder, out string) error {
	surveys, err := readSurvey(folder)
	if err != nil {
		return err
	}
	model, err := fit(log, surveys, fittedHalf)
	if err != nil {
		return err
	}
	data, err := encode(model)
	if err != nil {
		return err
	}
	if _, err := population.Parse(data); err != nil { // never write an invalid model
		return err
	}
	return os.WriteFile(out, data, 0o644)
}

// fit fits the model to the people whom pick selects from each survey.
func fit(log io.Writer, surveys []survey, pick func([]body.Measures) []body.Measures) (population.Model, error) {
	var samples [2]sample
	for i, s := range surveys {
		var err error
		if samples[i], err = newSample(s, pick(s.people)); err != nil {
			return population.Model{}, err
		}
	}
	names := samples[0].names
	model := population.Model{
		Source: surveySource + "; every second row of its files here", Measures: measures(names, samples[0].from),
	}
	for i, s := range surveys {
		own, other := samples[i], samples[1-i]
		c, err := choose(own, other)
		if err != nil {
			return population.Model{}, err
		}
		m := own.moments(own.all()).blend(other.moments(other.all()), c.blended)
		fmt.Fprintf(log, "%s: %d people, %.0f %% of the covariance from the other group, %g degrees of freedom, "+
			"%.2f nats per person left out\n",
			s.group, m.people, 100*c.blended, c.freedom, c.score)
		if s.group == women {
			trade := m.trade(names)
			model.Groups = append(model.Groups,
				m.group(women, "women of the survey, waist at the navel, upper arm flexed", 0.25, c.freedom),
				trade.group("women_trade", "women as the trade measures them: moved to the waist and lengths of "+
					"EN 13402-3 and a British handbook's chart, with more spread", 0.45, c.freedom),
				trade.large(names).group("women_large", "women larger than the survey's: extrapolated along the sizes "+
					"of EN 13402-3, with a wide spread", 0.05, c.freedom))
			continue
		}
		model.Groups = append(model.Groups,
			m.group("men", "men of the survey, waist at the navel, upper arm flexed", 0.25, c.freedom))
	}
	return model, nil
}

func measures(names []body.Name, from map[body.Name]string) []population.Measure {
	list := make([]population.Measure, len(names))
	for i, n := range names {
		list[i] = population.Measure{Name: string(n), Surveyed: from[n] == "", From: from[n]}
		for _, s := range substitutes {
			if s.name == n {
				list[i].Surveyed = s.surveyed
			}
		}
		if list[i].From == "" {
			list[i].From = "measured"
		}
	}
	return list
}

// encode encodes the model as JSON with each array of numbers on one line.
func encode(m population.Model) ([]byte, error) {
	data, err := json.MarshalIndent(m, "", " ")
	if err != nil {
		return nil, err
	}
	return append(joinNumbers(data), '\n'), nil
}
