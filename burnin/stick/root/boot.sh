# The root of the stick: found, checked from its first byte to its last, held in memory if it fits.
# A stick of which one byte differs is refused, on the screen and on the serial port.

word() { # a word of the kernel's command line
	for x in $(cat /proc/cmdline); do
		case $x in burnin."$1"=*) echo "${x#*=}" ;; esac
	done
}

say() { # to every console there is
	for c in $(cat /sys/class/tty/console/active); do
		printf '%s\r\n' "$@" >"/dev/$c" 2>/dev/null
	done
}

refuse() {
	say '' '' '********************************************************************' \
		"$1" "$2" '' \
		'Nothing is tested from it. Write the stick anew, from an image whose sum is right.' \
		'Von ihm wird nichts geprüft. Schreiben Sie den Stick neu, mit richtiger Prüfsumme.' \
		'********************************************************************'
	while :; do sleep 3600; done
}

mountroot() {
	hash=$(word hash) offset=$(word offset) part=$(word root)
	n=0
	until device=$(blkid -t "PARTUUID=$part" -o device) && [ -n "$device" ]; do
		n=$((n + 1))
		[ $n -gt 300 ] && refuse \
			"The stick's own partition was not found. Another USB socket may help." \
			'Die Partition des Sticks wurde nicht gefunden. Vielleicht hilft eine andere USB-Buchse.'
		sleep 0.2
	done
	device=${device%% *}
	veritysetup open "$device" burnin-root "$device" "$hash" --hash-offset="$offset" || refuse \
		'THE STICK IS NOT AS IT WAS MADE: its root does not bear out its hash.' \
		'DER STICK IST NICHT, WIE ER GEMACHT WURDE: seine Wurzel belegt ihre Prüfsumme nicht.'
	say 'Checking the stick ... / Stick wird geprüft ...'
	mkdir -p /run/burnin/lower /run/burnin/memory /run/burnin/upper
	free_kib=$(awk '/^MemAvailable/ { print $2 }' /proc/meminfo)
	into=/dev/null root=/dev/mapper/burnin-root from=stick
	if [ "$free_kib" -gt $((offset / 1024 + 1500000)) ]; then
		mount -t tmpfs -o size=$((offset + 1048576)) burnin-memory /run/burnin/memory
		into=/run/burnin/memory/root root=$into from=memory
	fi
	if ! dd if=/dev/mapper/burnin-root of=$into bs=1M 2>/dev/null; then
		block=$(dmesg | sed -n 's/.*data block \([0-9]*\) is corrupted.*/\1/p' | head -n 1)
		refuse "THE STICK IS NOT AS IT WAS MADE: block ${block:-?} of its root differs." \
			"DER STICK IST NICHT, WIE ER GEMACHT WURDE: Block ${block:-?} seiner Wurzel weicht ab."
	fi
	[ $from = memory ] && veritysetup close burnin-root
	echo $from >/run/burnin/from
	modprobe squashfs
	modprobe overlay
	modprobe loop
	mount -t squashfs -o ro,loop $root /run/burnin/lower 2>/dev/null ||
		mount -t squashfs -o ro $root /run/burnin/lower ||
		refuse 'The root cannot be mounted.' 'Die Wurzel lässt sich nicht einhängen.'
	mount -t tmpfs -o mode=755 burnin-upper /run/burnin/upper
	mkdir -p /run/burnin/upper/files /run/burnin/upper/work
	mount -t overlay -o lowerdir=/run/burnin/lower,upperdir=/run/burnin/upper/files,workdir=/run/burnin/upper/work \
		burnin "$rootmnt" || refuse 'The root cannot be mounted.' 'Die Wurzel lässt sich nicht einhängen.'
}

mount_top() { :; }
mount_premount() { :; }
mount_bottom() { :; }
