// Package web is the workbench in a browser: pages made on the server, readable and
// usable without script, and one script that makes the table of a block as quick as
// a spreadsheet. It asks package practice for everything; it computes nothing and
// knows no database.
//
//go:generate go run ./build
package web
