package wire

// Limits of the format.
const (
	// VersionMajor and VersionMinor are the protocol version that this package speaks.
	VersionMajor = 1
	VersionMinor = 0

	// LogSuffix ends the name of a log of frames.
	LogSuffix = ".slog"

	headerSize = 9 // type, session, sequence
	sumSize    = 4 // CRC-32C

	// MaxFrame is the most bytes in a frame before COBS: header, payload and CRC.
	MaxFrame = 1024
	// MaxPayload is the most bytes in a payload.
	MaxPayload = MaxFrame - headerSize - sumSize
	// MaxEncoded is the most bytes in a frame after COBS, in either form, without its delimiters.
	MaxEncoded = MaxFrame + MaxFrame/254 + 1
	// MaxChannels is the most channels of a device.
	MaxChannels = 16
	// MaxSamples is the most samples in a frame; with more than one channel MaxValues may allow fewer.
	MaxSamples = 255
	// MaxValues is the most packed values (samples times channels) in a frame.
	MaxValues = (MaxPayload - samplesFixed) / 2
	// MaxText is the most bytes in a device id or a firmware version.
	MaxText = 32
	// MaxChannelName is the most bytes in the name of a channel.
	MaxChannelName = 24
	// MaxNote is the most bytes in the text of a host note.
	MaxNote = 512

	// Window is how many frames back a late frame or a duplicate is still told apart from a restart.
	Window = 1024
)
