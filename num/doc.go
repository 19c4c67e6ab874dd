// Package num holds the numerics that stages share. For now that is the
// reading of tables: CSV files with names in the first row, units in the second
// and a source key in the last column.
package num
