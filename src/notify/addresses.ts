import { lookup as systemLookup } from 'node:dns';
import { type LookupFunction, isIP } from 'node:net';
import ipaddr from 'ipaddr.js';
import { StopledgerError } from '../errors.js';

/** Global unicast of IPv6 (RFC 4291, section 2.4, as assigned by IANA): nothing outside of it is a public address. */
const GLOBAL_IPV6 = ipaddr.IPv6.parseCIDR('2000::/3');

/** True for `address/bits` of IPv4 or IPv6. */
export function isAddressRange(text: string): boolean {
  return ipaddr.isValidCIDR(text);
}

function isPublic(address: ipaddr.IPv4 | ipaddr.IPv6): boolean {
  // Everything with a meaning of its own (private, loopback, link-local, translated, reserved) has another name.
  if (address.range() !== 'unicast') return false;
  return address instanceof ipaddr.IPv4 || address.match(GLOBAL_IPV6);
}

/**
 * True when a webhook may connect to this address: a public one, or one inside of `privateRanges` (CIDR). An IPv4
 * address written as IPv6 (`::ffff:10.0.0.1`) is judged as what it is. False for what is no address.
 */
export function mayReach(address: string, privateRanges: readonly string[]): boolean {
  if (!ipaddr.isValid(address)) return false;
  const parsed = ipaddr.process(address);
  if (isPublic(parsed)) return true;
  return privateRanges.some((text) => {
    const [range, bits] = ipaddr.parseCIDR(text);
    return range.kind() === parsed.kind() && parsed.match(range, bits);
  });
}

/** Throws `bad-webhook` for an address that may not be reached. */
export function checkReachable(address: string, privateRanges: readonly string[]): void {
  if (mayReach(address, privateRanges)) return;
  throw new StopledgerError('bad-webhook', `${address} is no public address and in no range of WEBHOOK_PRIVATE`);
}

/** Throws `bad-webhook` when the host of an address is an IP address that may not be reached; names pass. */
export function checkLiteralHost(url: URL, privateRanges: readonly string[]): void {
  const host = url.hostname.replace(/^\[(.*)\]$/, '$1');
  if (isIP(host) !== 0) checkReachable(host, privateRanges);
}

/**
 * Looks names up for a connection and refuses it when any of the addresses may not be reached. The connection is made
 * to what was checked here, so a name that changes its address between a check and the connection gains nothing.
 */
export function guardedLookup(privateRanges: readonly string[], lookup: LookupFunction = systemLookup): LookupFunction {
  return (hostname, options, done) => {
    lookup(hostname, options, (error, found, family) => {
      if (error !== null) {
        done(error, found, family);
        return;
      }
      try {
        const addresses = typeof found === 'string' ? [found] : found.map(({ address }) => address);
        for (const address of addresses) checkReachable(address, privateRanges);
        done(null, found, family);
      } catch (refused) {
        done(refused as Error, found, family);
      }
    });
  };
}
