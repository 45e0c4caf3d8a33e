/* A whole device, to be built for a host: a made-up converter in place of a real one, stdout and stdin in place of the
 * serial port, a counted clock in place of a timer.
 *
 *     cc -std=c99 -o example example.c stanchion_wire.c
 *     ./example TICKS SESSION
 *
 * It runs for TICKS sampling ticks (0 = until stdin ends) as session SESSION, which a real device draws anew at each reset.
 */
#define _POSIX_C_SOURCE 200809L

#include "stanchion_wire.h"

#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#define CHANNELS 2
#define SAMPLES 32 /* in a frame */
#define STATUS_TICKS 1000

static const sw_channel channels[CHANNELS] = {
	{SW_KIND_TRAVEL, SW_UNIT_COUNTS, 0, 12, 4095.0f, 1.0f, 0.0f, "fork"},
	{SW_KIND_TEMPERATURE, SW_UNIT_CELSIUS, SW_SIGNED, 0, 125.0f, 0.0625f, 0.0f, "board"},
};

typedef struct {
	sw_sender sender;
	sw_receiver receiver;
	sw_clock clock;
	uint32_t counter_us; /* a 32-bit timer; near its end, so that it wraps soon */
	uint32_t period_us;
	uint32_t index; /* of the next sampling tick */
	int streaming;
	uint16_t values[SAMPLES * CHANNELS];
	uint8_t held; /* samples in values */
	uint64_t first_us, last_us;
	uint8_t frame[SW_BUFFER_HELLO(CHANNELS) > SW_BUFFER_SAMPLES(SAMPLES, CHANNELS) ? SW_BUFFER_HELLO(CHANNELS)
	                                                                            : SW_BUFFER_SAMPLES(SAMPLES, CHANNELS)];
} device;

static uint64_t now_us(device *d) { return sw_clock_us(&d->clock, d->counter_us); }
static uint32_t rate_millihz(const device *d) { return 1000000000UL / d->period_us; }

static void send(const device *d, size_t size)
{
	if (size > 0 && fwrite(d->frame, 1, size, stdout) != size)
		exit(1);
}

static void send_hello(device *d)
{
	sw_hello_data h;
	h.stamp_us = now_us(d);
	h.rate_millihz = rate_millihz(d);
	h.streaming = (uint8_t)d->streaming;
	h.device = "example-1";
	h.firmware = "1.0";
	h.channel_count = CHANNELS;
	h.channels = channels;
	send(d, sw_hello(&d->sender, d->frame, sizeof d->frame, &h));
}

static void send_samples(device *d)
{
	sw_samples_data s;
	if (d->held == 0)
		return;
	s.index = d->index - d->held;
	s.stamp_us = d->first_us;
	s.span_us = (uint32_t)(d->last_us - d->first_us);
	s.sample_count = d->held;
	s.channel_count = CHANNELS;
	s.values = d->values;
	d->held = 0;
	send(d, sw_samples(&d->sender, d->frame, sizeof d->frame, &s));
}

static void send_status(device *d)
{
	sw_status_data s = {0, 0, 0, 0, 3900, 215, 0};
	s.stamp_us = now_us(d);
	s.samples = d->index - d->held;
	s.uptime_s = (uint32_t)(s.stamp_us / 1000000);
	send(d, sw_status(&d->sender, d->frame, sizeof d->frame, &s));
}

static void stop(device *d, uint8_t reason)
{
	send_samples(d);
	d->streaming = 0;
	send(d, sw_end(&d->sender, d->frame, sizeof d->frame, now_us(d), d->index, reason));
}

/* A made-up converter: a triangle of 12 bits, and a temperature. */
static void sample(device *d)
{
	uint32_t phase = d->index % 2048;
	if (d->held == 0)
		d->first_us = now_us(d);
	d->last_us = now_us(d);
	d->values[d->held * CHANNELS] = (uint16_t)(phase < 1024 ? 4 * phase : 4 * (2047 - phase));
	d->values[d->held * CHANNELS + 1] = (uint16_t)(-16 * 2); /* -2 °C */
	d->held++;
	d->index++;
	if (d->held == SAMPLES)
		send_samples(d);
	if (d->index % STATUS_TICKS == 0)
		send_status(d);
}

/* Runs a command. The reply comes first, then what the command brings about. */
static void obey(device *d, const sw_command *c)
{
	uint8_t result = SW_DONE;
	if (c->type == SW_SET_RATE) {
		if (c->rate_millihz < 1000 || c->rate_millihz > 4000000UL)
			result = SW_REFUSED;
		else if (d->streaming)
			result = SW_NOT_NOW;
		else
			d->period_us = 1000000000UL / c->rate_millihz;
	} else if (c->type < SW_IDENTIFY || c->type > SW_MARK) {
		result = SW_UNKNOWN;
	}
	send(d, sw_reply(&d->sender, d->frame, sizeof d->frame, c->type, c->sequence, result, rate_millihz(d)));
	if (c->type == SW_IDENTIFY || (c->type == SW_SET_RATE && result == SW_DONE))
		send_hello(d);
	else if (c->type == SW_START)
		d->streaming = 1;
	else if (c->type == SW_STOP && d->streaming)
		stop(d, SW_END_COMMAND);
	else if (c->type == SW_MARK)
		send(d, sw_marker(&d->sender, d->frame, sizeof d->frame, now_us(d), c->label));
}

/* Takes what the host sent. Returns 0 at the end of stdin. */
static int listen(device *d, int wait_ms)
{
	struct pollfd in = {STDIN_FILENO, POLLIN, 0};
	while (poll(&in, 1, wait_ms) > 0) {
		uint8_t byte;
		sw_command c;
		if (read(STDIN_FILENO, &byte, 1) != 1)
			return 0;
		if (sw_receive(&d->receiver, byte, &c))
			obey(d, &c);
		wait_ms = 0;
	}
	return 1;
}

int main(int argc, char **argv)
{
	static device d;
	uint32_t ticks = argc > 1 ? (uint32_t)strtoul(argv[1], NULL, 10) : 0;
	uint32_t tick = 0;
	int hears = 1;
	d.sender.session = argc > 2 ? (uint32_t)strtoul(argv[2], NULL, 10) : 1;
	d.counter_us = 0xFFFFFFFFUL - 500000;
	d.period_us = 1000;
	send_hello(&d);
	while (hears || d.streaming) {
		if (hears)
			hears = listen(&d, d.streaming ? 0 : 100);
		if (!d.streaming)
			continue;
		if (ticks > 0 && tick == ticks)
			break;
		sample(&d);
		d.counter_us += d.period_us;
		tick++;
		if (ticks == 0) {
			fflush(stdout);
			poll(NULL, 0, 1); /* about a period; a real device waits for its timer */
			if (!hears)
				break;
		}
	}
	if (d.streaming)
		stop(&d, SW_END_OTHER);
	return fflush(stdout) != 0;
}
