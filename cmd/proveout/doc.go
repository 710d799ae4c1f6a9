// Command proveout finds the fault in an air conditioner by talking with the
// technician who stands at it.
//
// One binary, one file a subcommand: a command is built by a constructor that
// takes the streams it talks through and the options all commands share, keeps
// its flags to itself, and returns an error. The error alone decides the exit
// code: none is 0, a [finding] (or a mistake in the knowledge) is 1, anything
// else is 2.
//
// This is the only package that knows every other package of the house.
package main
