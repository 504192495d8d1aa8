package simulator

// WordKeys lists the keys of every word on the page, besides those that Controls
// name. The page reads them through Config.Words; testdata/words.json has them in
// English and, for the tests, in two more languages.
var WordKeys = []string{
	"demo.title",       // One team, several phones
	"demo.language",    // Language of this page
	"demo.skip",        // Skip to the messages
	"demo.clock",       // Time at the site
	"demo.later_15",    // 15 minutes later
	"demo.later_60",    // 1 hour later
	"demo.later_shift", // Next change of shift
	"demo.minutes",     // Minutes
	"demo.move",        // Move time forward
	"demo.only_on",     // Time only moves forward.
	"demo.happen",      // Make something happen
	"demo.phones",      // Phones
	"demo.person",      // Whose phone

	"demo.role_carer",       // Carer
	"demo.role_coordinator", // Coordinator
	"demo.role_new",         // Not joined yet
	"demo.new_phone",        // New phone

	"demo.messages",     // Messages
	"demo.you",          // You
	"demo.bot",          // Bot
	"demo.empty",        // Nothing here yet.
	"demo.begin",        // Begin
	"demo.write",        // Write a message
	"demo.send",         // Send
	"demo.attach",       // Attach a file
	"demo.not_sent",     // Not sent. Please try again.
	"demo.waiting",      // Waiting
	"demo.new_messages", // New messages

	"demo.lost",   // Connection lost. Trying again.
	"demo.done",   // Done
	"demo.failed", // That did not work. Please try again.
	"demo.footer", // A demo: all people and places in it are invented.
	"demo.script", // This page needs JavaScript.
}
