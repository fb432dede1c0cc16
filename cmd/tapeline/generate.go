package main

//go:generate ../../testdata/pictures/render.sh
