# One image for the service and for workers, which run `node dist/worker/main.js` instead.

FROM node:20-bookworm-slim AS build
WORKDIR /app
COPY package.json package-lock.json ./
RUN npm ci --no-audit --no-fund
COPY tsconfig.json tsconfig.build.json ./
COPY src src
COPY worker worker
RUN npm run build && npm prune --omit=dev --no-audit --no-fund

FROM node:20-bookworm-slim
WORKDIR /app
COPY --from=build /app/package.json ./
COPY --from=build /app/node_modules node_modules
COPY --from=build /app/dist dist
# A volume made new here belongs to the user who writes to it.
RUN mkdir /data && chown node:node /data
ENV DATA_DIR=/data PORT=4180
USER node
VOLUME /data
EXPOSE 4180
CMD ["node", "dist/src/main.js"]
