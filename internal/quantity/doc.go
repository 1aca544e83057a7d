// Package quantity reads what a bench person types and prints what a bench person reads.
package quantity
