// Package postgres keeps the records of many shops in one PostgreSQL database. What
// belongs to a shop bears its name in every table, and the database's own row security
// lets a transaction see no other shop's. Any number of services may answer for a shop: see
// bot.Shared.
package postgres
