// Package recordlaws holds what every record promises the service, as checks that any
// implementation of bot.Store is put to.
package recordlaws
