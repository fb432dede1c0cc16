package db

// Translate is the border between pgx's errors and ours, for tests that run
// SQL of their own.
var Translate = translate
