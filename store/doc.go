// Package store keeps a practice in SQLite or PostgreSQL, behind practice.Store.
// One set of statements serves both; only the tables and how a transaction starts
// differ. Times are UTC text of one width, so that both compare them alike.
package store
