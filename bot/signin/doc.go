// Package signin lets the shop's people in where no channel says who they are: with a
// code sent through a channel they have, or by the word of a provider that knows them;
// after that by a session.
//
// Its one law: what is kept lets nobody in. Codes and the secrets of sessions are kept
// as hashes, and whoever is refused is not told whether it was the person or the code.
package signin
