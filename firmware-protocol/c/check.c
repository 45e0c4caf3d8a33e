/* Test driver: reads one frame in words from each line of stdin, writes it in hex to stdout. The lines are those of
 * ../vectors/frames.txt. "receive HEX" feeds bytes to the command decoder and writes what it found. */
#include "stanchion_wire.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static char line[1 << 16];

static const char *word(void)
{
	const char *w = strtok(NULL, " \n");
	if (w == NULL) {
		fprintf(stderr, "line is cut short\n");
		exit(1);
	}
	return w;
}

static uint64_t number(void) { return strtoull(word(), NULL, 10); }
static float real(void) { return strtof(word(), NULL); }

static const char *text(void)
{
	const char *w = word();
	return strcmp(w, "-") == 0 ? "" : w;
}

static size_t hello(sw_sender *s, uint8_t *out, size_t size)
{
	static sw_channel channels[SW_MAX_CHANNELS + 1];
	sw_hello_data d;
	int i;
	d.stamp_us = number();
	d.rate_millihz = (uint32_t)number();
	d.streaming = (uint8_t)number();
	d.device = text();
	d.firmware = text();
	d.channel_count = (uint8_t)number();
	d.channels = channels;
	for (i = 0; i < d.channel_count && i <= SW_MAX_CHANNELS; i++) {
		sw_channel *c = &channels[i];
		c->kind = (uint8_t)number();
		c->unit = (uint8_t)number();
		c->flags = (uint8_t)number();
		c->adc_bits = (uint8_t)number();
		c->full_scale = real();
		c->scale = real();
		c->offset = real();
		c->name = text();
	}
	return sw_hello(s, out, size, &d);
}

static size_t samples(sw_sender *s, uint8_t *out, size_t size)
{
	static uint16_t values[SW_MAX_CHANNELS * SW_MAX_SAMPLES];
	sw_samples_data d;
	int i;
	d.index = (uint32_t)number();
	d.stamp_us = number();
	d.span_us = (uint32_t)number();
	d.sample_count = (uint8_t)number();
	d.channel_count = (uint8_t)number();
	d.values = values;
	for (i = 0; i < d.sample_count * d.channel_count; i++)
		values[i] = (uint16_t)number();
	return sw_samples(s, out, size, &d);
}

static size_t status(sw_sender *s, uint8_t *out, size_t size)
{
	sw_status_data d;
	d.stamp_us = number();
	d.samples = (uint32_t)number();
	d.overruns = (uint32_t)number();
	d.dropped = (uint32_t)number();
	d.battery_mv = (uint16_t)number();
	d.temperature_decic = (int16_t)strtol(word(), NULL, 10);
	d.uptime_s = (uint32_t)number();
	return sw_status(s, out, size, &d);
}

static size_t end(sw_sender *s, uint8_t *out, size_t size)
{
	uint64_t stamp_us = number();
	uint32_t count = (uint32_t)number();
	return sw_end(s, out, size, stamp_us, count, (uint8_t)number());
}

static size_t reply(sw_sender *s, uint8_t *out, size_t size)
{
	uint8_t command = (uint8_t)number();
	uint32_t sequence = (uint32_t)number();
	uint8_t result = (uint8_t)number();
	return sw_reply(s, out, size, command, sequence, result, (uint32_t)number());
}

static void receive(void)
{
	static sw_receiver r; /* runs on from line to line, as on a device */
	const char *hex = word();
	for (; hex[0] != 0 && hex[1] != 0; hex += 2) {
		char pair[3] = {0, 0, 0};
		sw_command c;
		pair[0] = hex[0];
		pair[1] = hex[1];
		if (sw_receive(&r, (uint8_t)strtoul(pair, NULL, 16), &c))
			printf("%u:%" PRIu32 ":%" PRIu32 ":%u ", c.type, c.sequence, c.rate_millihz, c.label);
	}
	printf("\n");
}

/* Encodes the frame told by words into out. */
static size_t encode(const char *words, sw_sender *s, uint8_t *out, size_t size)
{
	static char copy[sizeof line];
	const char *type;
	uint64_t stamp_us;
	strcpy(copy, words);
	type = strtok(copy, " \n");
	s->session = (uint32_t)number();
	s->sequence = (uint32_t)number();
	if (strcmp(type, "hello") == 0)
		return hello(s, out, size);
	if (strcmp(type, "samples") == 0)
		return samples(s, out, size);
	if (strcmp(type, "status") == 0)
		return status(s, out, size);
	if (strcmp(type, "end") == 0)
		return end(s, out, size);
	if (strcmp(type, "reply") == 0)
		return reply(s, out, size);
	if (strcmp(type, "marker") != 0) {
		fprintf(stderr, "unknown frame %s\n", type);
		exit(1);
	}
	stamp_us = number();
	return sw_marker(s, out, size, stamp_us, (uint16_t)number());
}

/* Encodes again into buffers of just the right size and of less: the frame must be the same, or refused. Each buffer is a
 * heap block of its own, so that the sanitizer sees a write past its end. */
static void squeeze(const char *words, const uint8_t *frame, size_t n)
{
	size_t sizes[5], i;
	sizes[0] = n;
	sizes[1] = n - 1;
	sizes[2] = n / 2;
	sizes[3] = 1;
	sizes[4] = 0;
	for (i = 0; i < 5; i++) {
		sw_sender s, unused;
		uint8_t *out = malloc(sizes[i] + (sizes[i] == 0));
		size_t got = encode(words, &s, out, sizes[i]);
		(void)encode(words, &unused, NULL, 0); /* the sequence as it was */
		if (i == 0 ? got != n || memcmp(out, frame, n) != 0 || s.sequence != (unused.sequence + 1) % 4294967296UL
		           : got != 0 || s.sequence != unused.sequence) {
			fprintf(stderr, "buffer of %lu bytes for a frame of %lu: %lu\n", (unsigned long)sizes[i], (unsigned long)n,
			        (unsigned long)got);
			exit(1);
		}
		free(out);
	}
}

static void frame(const char *words)
{
	static uint8_t out[SW_BUFFER_ANY];
	sw_sender s;
	size_t i, n = encode(words, &s, out, sizeof out);
	for (i = 0; i < n; i++)
		printf("%02X", out[i]);
	printf("\n");
	if (n > 0)
		squeeze(words, out, n);
}

int main(void)
{
	while (fgets(line, sizeof line, stdin) != NULL) {
		if (strncmp(line, "receive ", 8) == 0) {
			(void)strtok(line, " ");
			receive();
		} else {
			frame(line);
		}
	}
	return 0;
}
