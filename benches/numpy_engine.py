"""The Monte Carlo engine once more, with numpy: a yardstick for speed, and a check by other means.

    numpy_engine.py CHAINS.json [--repeats N]

CHAINS.json comes from the Rust benchmark (`--dump`): the figures of each chain, what the chains are judged by, and what the
engine made of them. The same model is computed here with arrays of bands by draws, written from docs and formulas as someone at
home in numpy would write it: no loop over draws or bands, random numbers of numpy's own. Figures that chains share are drawn
once. What knowing a figure would be worth is left out, in numpy's favour.

The results to compare with come from sixteen times the draws, so that their own Monte Carlo error is small; those of here are
means over the repeats. As the gain hangs on a rare quantile, and on which side of a step it falls, a second, untimed run takes
the engine's gain, and the gain itself is compared apart. Ends with an error if any median is off by more than 0.2 dB, or the
gain by more than 1 dB.
"""

import argparse
import json
import sys
import time

import numpy as np

LARGEST_DIFFERENCE_DB = 0.2
LARGEST_DIFFERENCE_OF_GAIN_DB = 1.0


def power(level):
    return np.power(10.0, np.asarray(level) / 10.0)


def level(power_ratio):
    return 10.0 * np.log10(power_ratio)


class Draws:
    """Draws of every figure by its key, made when they are first asked for."""

    def __init__(self, count, seed):
        self.count = count
        self.random = np.random.default_rng(seed)
        self.known = {}

    def of(self, parameter):
        # Two groups of inputs of one device can have figures of the same name.
        key = (parameter["key"], parameter["value"])
        if key not in self.known:
            self.known[key] = self.draw(parameter)
        return self.known[key]

    def draw(self, parameter):
        value, spread = parameter["value"], parameter["spread"]
        if spread["kind"] == "exact":
            return value
        if spread["kind"] == "rectangular":
            drawn = self.random.uniform(value - spread["below"], value + spread["above"], self.count)
        else:
            drawn = self.random.normal(value, spread["standard_deviation"], self.count)
        return np.maximum(drawn, 0.05 * value) if parameter["positive"] else drawn


class Study:
    """What all chains have in common."""

    def __init__(self, data):
        self.data = data
        self.constants = data["constants"]
        self.thresholds = data["thresholds"]
        self.centre = np.array(data["centre_hz"])
        self.node_hz = np.array(data["node_hz"])
        self.node_width = np.array(data["node_width_hz"])
        self.width = np.array(data["width_hz"])[:, None]
        self.width_a = np.array(data["width_hz_a"])[:, None]
        self.a_gain = np.array(data["a_gain"])[:, None]
        self.floor = np.array(data["listener_floor"])[:, None]
        self.dbu_power = self.constants["dbu_volts"] ** 2
        self.volt = 20.0 * np.log10(1.0 / self.constants["dbu_volts"])
        self.pascal = 20.0 * np.log10(1.0 / self.constants["spl_pascals"])


def divider(hz, resistance, inductance, capacitance, conductance):
    """|H|² and |Z|² of a source with a cable and a load."""
    w = 2.0 * np.pi * hz
    real = 1.0 + resistance * conductance - w * w * (inductance * capacitance)
    imaginary = w * (resistance * capacitance + inductance * conductance)
    transfer = 1.0 / (real * real + imaginary * imaginary)
    return transfer, (resistance * resistance + (w * inductance) ** 2) * transfer


class Chain:
    def __init__(self, study, chain, draws):
        self.study, self.chain, self.draws = study, chain, draws
        self.parameters = {p["key"]: p for p in chain["parameters"]}
        self.n = draws.count

    def figure(self, key):
        return self.draws.of(self.parameters[key])

    def best(self, key):
        return self.parameters[key]["value"]

    def junction(self, get, second):
        """What a junction is made of: from draws, or from best estimates."""
        chain, booster = self.chain, self.chain["booster"]
        capacitance = get(chain["cable_length"]) * get(chain["cable_capacitance"])
        feeds = 1.0 / self.study.constants["phantom_feeds"] if chain["phantom"] else 0.0
        at_input = 1.0 / get(chain["input_resistance"]) + feeds
        if second:
            return get(booster["output_resistance"]), 0.0, capacitance, at_input
        source = get(chain["source_resistance"])
        inductance = get(chain["source_inductance"]) if chain["source_inductance"] else 0.0
        if booster:
            return source, inductance, 0.0, 1.0 / get(booster["input_resistance"])
        return source, inductance, capacitance, at_input

    def transfer(self, second):
        """|H|² and |Z|² by band and draw, each band's mean being that of its nodes at the best estimate."""
        study = self.study
        best = self.junction(self.best, second)
        drawn = divider(study.centre[:, None], *self.junction(self.figure, second))
        nodes, centre = divider(study.node_hz, *best), divider(study.centre, *best)
        width = study.node_width.sum(axis=1)
        means = [(node * study.node_width).sum(axis=1) / width / at for node, at in zip(nodes, centre)]
        return [values * mean[:, None] for values, mean in zip(drawn, means)]

    def amplifier(self, noise):
        """Squared densities of voltage and current, V²/Hz and A²/Hz."""
        constants, dbu = self.study.constants, self.study.dbu_power

        def density(ein):
            return power(self.figure(ein["level"])) * dbu / ein["bandwidth"]

        def left(ein):
            thermal = 4.0 * constants["boltzmann"] * constants["room_temperature"] * ein["source"]
            return np.maximum(density(ein) - thermal, 0.0)

        if noise["kind"] == "densities":
            return self.figure(noise["voltage"]) ** 2, self.figure(noise["current"]) ** 2
        if noise["kind"] == "one_ein":
            r2 = noise["ein"]["source"] ** 2
            whole = left(noise["ein"])
            from_current = np.minimum(self.figure(noise["current"]) ** 2 * r2, whole / 2.0)
            return whole - from_current, from_current / r2
        first, second = left(noise["first"]), left(noise["second"])
        r1, r2 = noise["first"]["source"] ** 2, noise["second"]["source"] ** 2
        current = np.minimum(np.maximum((second - first) / (r2 - r1), 0.0), first / r1)
        return np.maximum(first - current * r1, 0.0), current

    def terminated(self, noise):
        """Squared density of the noise at the input when its dynamic range was measured."""
        constants, dbu = self.study.constants, self.study.dbu_power
        if noise["kind"] == "densities":
            r = constants["usual_source"]
            voltage, current = self.amplifier(noise)
            return voltage + current * r * r + 4.0 * constants["boltzmann"] * self.chain["temperature"] * r
        ein = noise.get("ein") or noise["first"]
        return power(self.figure(ein["level"])) * dbu / ein["bandwidth"]

    def run(self, imposed_gain=None):
        """Everything that the engine finds out about a chain, at the gain that is chosen here or imposed."""
        study, chain, constants = self.study, self.chain, self.study.constants
        origin, ending, booster = chain["origin"], chain["ending"], chain["booster"]
        acoustic = origin["kind"] == "microphone"
        data, thresholds = study.data, study.thresholds
        figure = self.figure
        h1, z1 = self.transfer(False)
        h2, z2 = self.transfer(True) if booster else (1.0, None)
        h = h1 * h2

        # Levels, in dB.
        over_sine = figure(chain["crest"]) - constants["sine_crest"]
        loud, quiet, tie, microphone_pad = figure(chain["loud"]), figure(chain["quiet"]), 0.0, 0.0
        margins = []
        if acoustic:
            if origin["levels_at"] is not None:
                near = max(origin["levels_at"], origin["size"])
                moved = 20.0 * np.log10(near / np.maximum(figure(origin["distance"]), origin["size"]))
                loud, quiet = loud + moved, quiet + moved
            margin = figure(origin["maximum_spl"]) - loud - over_sine
            if origin["pad"] is not None and np.mean(margin < 0.0) >= thresholds["clipping_enough"]:
                microphone_pad = origin["pad"]
            margins.append(margin + microphone_pad)
            tie = figure(origin["sensitivity"]) + study.volt - study.pascal - microphone_pad
        spectrum = np.array(chain["spectrum"])[:, None]
        gain_before = figure(booster["gain"]) if booster else 0.0
        if booster:
            at_output = loud + tie + level((spectrum * h1).sum(axis=0)) + gain_before
            margins.append(figure(booster["maximum_output"]) - at_output - over_sine)
        loud_in = loud + tie + level((spectrum * h).sum(axis=0)) + gain_before

        # The input.
        preamp = ending if ending["kind"] == "preamp" else None
        line = ending["line"] if preamp is None else None
        if preamp is None:
            full_scale = limit = figure(line["full_scale"])
        else:
            error, maximum_input = figure(preamp["gain_error"]), figure(preamp["maximum_input"])
            output = preamp["output"]
            if output["kind"] == "converter":
                full_scale = limit = maximum_input - error
            else:
                line = output["converter"]
                load = figure(line["input_resistance"])
                loss = 20.0 * np.log10(load / (load + figure(output["output_resistance"])))
                full_scale = figure(line["full_scale"]) - loss - preamp["least_gain"] - error
                highest = figure(output["maximum_output"]) - preamp["least_gain"] - error
                limit = np.minimum(np.minimum(maximum_input, highest), full_scale)

        # The gain.
        margin = limit - loud_in - over_sine
        peak = np.median(loud_in + over_sine - full_scale)
        above, pad, gain = 0.0, 0.0, None
        if preamp is not None:
            most = max(self.best(preamp["gain_range"]), 0.0)
            rank = max(int(np.ceil(thresholds["clipping_enough"] * self.n)) - 1, 0)
            allowed = np.partition(margin, rank)[rank]
            if preamp["pad"] is not None and allowed < 0.0:
                pad = preamp["pad"]
            setting = min(data["peak_target"] - peak + pad, allowed + pad)
            if imposed_gain is not None:
                # A hair's breadth keeps the end of the range from being missed.
                setting = imposed_gain - preamp["least_gain"] + 1e-9
            if setting >= most:
                setting, above = most, figure(preamp["gain_range"])
            else:
                setting = max(setting, 0.0)
                step = preamp["gain_step"]
                above = setting = np.floor(setting / step + 1e-9) * step if step else setting
            gain = preamp["least_gain"] + setting
        margins.append(margin + pad - above)
        clips = np.any(np.array([np.broadcast_to(m, self.n) for m in margins]) < 0.0, axis=0)
        digital = full_scale - above
        loud_file = loud_in - pad - digital
        peak_file = loud_file + over_sine
        quiet_file = loud_file + quiet - loud

        # The noise, by contributor: at the gain's input, re 0 dBu squared, by band and draw where its spectrum depends on both.
        dbu, k, temperature = study.dbu_power, constants["boltzmann"], chain["temperature"]
        pad_ratio = power(-pad)
        g = power(gain_before) * pad_ratio
        room_shape = np.array(chain["room_shape"])[:, None]
        noise = {}
        if acoustic:
            level_in = figure(origin["room"]) + tie - figure(origin["directivity"])
            noise["room"] = room_shape * h * (power(level_in) * g)
            own = origin["self_noise"]
            if own:
                density = power(figure(own["range"]) + tie + microphone_pad) / own["bandwidth"]
            else:
                density = 4.0 * k * temperature * figure(chain["source_resistance"]) / dbu
            noise["microphone"] = study.width * h * (density * g)
        else:
            density = power(figure(origin["noise"])) / constants["audio_bandwidth"]
            noise["output"] = study.width * h * (density * g)
        impedance = z2 if booster else z1
        if chain["phantom"]:
            feeds = 4.0 * k * temperature / constants["phantom_feeds"] / dbu * pad_ratio
            noise["phantom_feeds"] = study.width * impedance * feeds
        if booster:
            voltage, current = self.amplifier(booster["noise"])
            noise["booster"] = study.width * h2 * (voltage / dbu * g) + study.width * z1 * h2 * (current / dbu * g)
        if preamp is not None:
            voltage, current = self.amplifier(preamp["noise"])
            if pad > 0.0:
                r = constants["pad_resistance"]
                noise["pad"] = study.width * (4.0 * k * temperature * r / dbu)
                noise["preamp"] = study.width * ((voltage + current * r * r) / dbu)
            else:
                noise["preamp"] = study.width * (voltage / dbu) + study.width * impedance * (current / dbu)
        full_scale_power = power(digital)
        after, converter = None, None
        if preamp is None or output["kind"] == "line":
            dynamic = line["dynamic_range"]
            converter = power(-figure(dynamic["range"])) * full_scale_power / dynamic["bandwidth"]
        if preamp is not None:
            dynamic = output["dynamic_range"]
            terminated = self.terminated(preamp["noise"]) / dbu
            density = power(-figure(dynamic["range"])) / dynamic["bandwidth"]
            if output["kind"] == "converter":
                converter = np.maximum(density - terminated / power(maximum_input), 0.0) * full_scale_power
            else:
                highest = np.minimum(figure(output["maximum_output"]), maximum_input + preamp["least_gain"])
                own = np.maximum(power(highest) * density - terminated * power(preamp["least_gain"]), 0.0)
                after = own * power(-(preamp["least_gain"] + above + error))
        if after is not None and np.any(after > 0.0):
            noise["after_gain"] = study.width * after
        noise["converter"] = study.width * converter
        step = 2.0 / 2.0 ** chain["bit_depth"]
        dither = (step * step / 4.0) / 0.5 / (chain["sample_rate"] / 2.0)
        noise["dither"] = study.width * (dither * full_scale_power)

        # What it comes to.
        a_weight = study.a_gain
        width_a_ratio = study.width_a / study.width
        parts = {
            name: (bands * (a_weight if name == "room" else width_a_ratio)).sum(axis=0) for name, bands in noise.items()
        }
        total = sum(parts.values())
        ahead = sum(parts[name] for name in ("room", "microphone", "output") if name in parts)
        noise_file = level(total / full_scale_power)
        penalty = level(total / ahead)
        replay = power(data["replay_level"] - (loud_in - pad))
        in_bands = sum(noise.values())
        rise = np.max(in_bands / study.floor, axis=0) * replay
        audible = rise >= power(thresholds["audible_rise"]) - 1.0
        clipping = np.mean(clips)

        # Verdicts: 0 enough, 1 tight, 2 short.
        by_draw = np.where(penalty > thresholds["penalty_short"], 2, 1)
        by_draw = np.where((penalty <= thresholds["penalty_enough"]) | ~audible, 0, by_draw)
        by_draw = np.where(clips, 2, by_draw)
        penalties = quantiles(penalty)
        if penalties[1] <= thresholds["penalty_enough"] or np.mean(audible) < 0.5:
            verdict = 0
        else:
            verdict = 2 if penalties[1] > thresholds["penalty_short"] else 1
        headroom = int(clipping >= thresholds["clipping_enough"]) + int(clipping >= thresholds["clipping_short"])
        shares = {name: np.broadcast_to(part, self.n) / total for name, part in parts.items()}
        return {
            "gain": gain,
            "peak": quantiles(peak_file),
            "quiet": quantiles(quiet_file),
            "noise": quantiles(noise_file),
            "noise_equivalent": quantiles(noise_file + loud - loud_file) if acoustic else None,
            "quiet_above_noise": quantiles(quiet_file - noise_file),
            "penalty": penalties,
            "rise": quantiles(level(1.0 + rise)),
            "audible_probability": np.mean(audible),
            "clipping_probability": clipping,
            "margins": [np.median(m) for m in margins],
            "verdict_probabilities": np.bincount(by_draw, minlength=3) / self.n,
            "verdict": ("enough", "tight", "short")[max(verdict, headroom)],
            "shares": {name: np.mean(share) for name, share in shares.items()},
            "share_intervals": {name: quantiles(share) for name, share in shares.items()},
        }


def quantiles(values):
    """Median and the ends of the 95 % interval."""
    return np.quantile(values, (0.025, 0.5, 0.975))


def run_all(study, seed, impose=False):
    draws = Draws(study.data["draws"], seed)
    return [
        Chain(study, chain, draws).run(chain["expected"]["gain"] if impose else None)
        for chain in study.data["chains"]
    ]


class Worst:
    """The largest difference, and where it is."""

    def __init__(self):
        self.off, self.where = 0.0, "none"

    def take(self, off, where):
        if not off <= self.off:
            self.off, self.where = float(off), where


def compare(study, chosen, imposed):
    """Largest differences of means over the repeats: of a chosen gain and any other median in dB, of any probability or
    share; and verdicts that no repeat agrees with."""
    gains, decibels, fractions, verdicts = Worst(), Worst(), Worst(), []
    for index, chain in enumerate(study.data["chains"]):
        runs = [repeat[index] for repeat in imposed]
        of_chain = f"of {chain['source']}" + (" with a booster" if chain["booster"] else "")
        for name, value in chain["expected"].items():
            where = f"{name} {of_chain}"
            if value is None:
                continue
            if name == "gain":
                gains.take(abs(np.mean([repeat[index]["gain"] for repeat in chosen]) - value), where)
            elif name == "verdict":
                if all(run[name] != value for run in runs):
                    verdicts.append(f"{where}: {runs[0][name]}, the engine says {value}")
            elif name == "shares":
                names = set().union(*(run[name] for run in runs))
                assert names == set(value), f"{where}: {sorted(names)}, the engine has {sorted(value)}"
                for part, share in value.items():
                    got = np.mean([run[name].get(part, 0.0) for run in runs])
                    fractions.take(abs(got - share), f"{part} in the noise {of_chain}")
            elif "probabilit" in name:
                got = np.mean([run[name] for run in runs], axis=0)
                fractions.take(np.max(np.abs(got - np.asarray(value))), where)
            else:
                got = np.mean([run[name][1] for run in runs])
                decibels.take(abs(got - value[1]), where)
    return gains, decibels, fractions, verdicts


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("chains")
    arguments.add_argument("--repeats", type=int, default=7)
    options = arguments.parse_args()
    with open(options.chains, encoding="utf-8") as file:
        study = Study(json.load(file))
    times, chosen = [], []
    for repeat in range(options.repeats):
        start = time.perf_counter()
        chosen.append(run_all(study, seed=repeat))
        times.append(time.perf_counter() - start)
    times.sort()
    imposed = [run_all(study, seed=repeat, impose=True) for repeat in range(options.repeats)]
    gains, decibels, fractions, verdicts = compare(study, chosen, imposed)
    print(f"numpy {np.__version__}: {len(study.data['chains'])} chains, {study.data['draws']} draws")
    print(f"largest difference of a median: {decibels.off:.3f} dB ({decibels.where})")
    print(f"largest difference of a gain: {gains.off:.3f} dB ({gains.where})")
    print(f"largest difference of a probability or share: {fractions.off:.4f} ({fractions.where})")
    for verdict in verdicts:
        print(f"verdict differs: {verdict}")
    print(f"best_ms={times[0] * 1e3:.3f} median_ms={times[len(times) // 2] * 1e3:.3f}")
    sys.stdout.flush()
    if not decibels.off <= LARGEST_DIFFERENCE_DB:
        sys.exit(f"a median is off by {decibels.off:.3f} dB: more than {LARGEST_DIFFERENCE_DB} dB")
    if not gains.off <= LARGEST_DIFFERENCE_OF_GAIN_DB:
        sys.exit(f"a gain is off by {gains.off:.3f} dB: more than {LARGEST_DIFFERENCE_OF_GAIN_DB} dB")
    if verdicts:
        sys.exit("verdicts differ")


if __name__ == "__main__":
    main()
